"""What a wheel needs beyond its section: room kept from each kind of obstacle, and bulge."""

from __future__ import annotations

from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]
Kind = Literal["fixed", "turns with the upright", "hose", "liner", "painted edge"]

# Room kept (m) beyond all that is carried as doubt. Common practice, from memory, no source: what
# a tyre may brush now and then (a liner) needs less than what a stone or a cut would cost dearly.
ROOM_KEPT: dict[Kind, float] = {
    "fixed": 0.005,
    "turns with the upright": 0.003,
    "hose": 0.012,
    "liner": 0.003,
    "painted edge": 0.005,
}


def sidewall_bulge(*, section_height: float, deflection: float, bow: float) -> float:
    """How much further out the sidewall stands beside the contact patch than around the rest, m.

    section_height: free, over the bead (m); deflection: free less loaded radius (m); bow: how far
    the widest place stands out from the straight line bead to shoulder, unloaded (m). The
    sidewall is a circular arc that keeps its length while its chord shortens by the deflection.
    Holds for deflections to a third of the section height. Ignores the stretch of the carcass
    and the spread of the load: on the careful side by about a third for stiff sidewalls.
    Source: geometry of a circular arc of constant length.
    """
    if not 0.0 <= deflection <= section_height / 3.0:
        raise ValueError("deflection is between 0 and a third of the section height")
    if not bow > 0.0:
        raise ValueError("the sidewall bows out: bow is above 0")
    free = _half_angle(section_height, bow)
    arc = section_height * free / np.sin(free)
    # chord/arc = sin(t)/t: bisection in t, half the arc's angle
    low, high = free, np.pi * 0.95
    wanted = (section_height - deflection) / arc
    for _ in range(80):
        middle = 0.5 * (low + high)
        if np.sin(middle) / middle > wanted:
            low = middle
        else:
            high = middle
    loaded = 0.5 * (low + high)
    return float(arc / (2.0 * loaded) * (1.0 - np.cos(loaded)) - bow)


def _half_angle(chord: float, bow: float) -> float:
    """Half the angle of the arc over a chord with a rise of bow."""
    return float(2.0 * np.arctan2(2.0 * bow, chord))


def near_the_road(
    *, points: Floats, highest_hub: float, lowest_hub: float, half_angle: float = 1.05
) -> NDArray[np.bool_]:
    """Which points may stand beside the bulge at the contact patch in some pose (N,).

    points (N, 3) in the corner's frame; highest_hub, lowest_hub: of the hub's centre over all
    poses (m); half_angle: of the bulge each way from straight down (rad). Source: geometry.
    """
    sideways = np.abs(points[:, 0])
    below = highest_hub - points[:, 2]
    low: NDArray[np.bool_] = (below > 0.0) & (sideways <= below * np.tan(half_angle))
    low |= (lowest_hub - points[:, 2] > 0.0) & (
        sideways <= (lowest_hub - points[:, 2]) * np.tan(half_angle)
    )
    return low
