"""Whether a compressor carries the power that is aimed at: flow wanted against flow on its map.

The full throttle that the build reckons with gives air for its own boost and no more. So the air
is reckoned up from there to the aim, at the speed of most power: flow and manifold pressure in
proportion to the power, which leaves out that the charge gets hotter and the losses grow. What
boost that takes is said, and never set: it is the calibrator's to decide.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from drybuild.build import State
from drybuild.examine.aimed import as_given
from drybuild.examine.examination import Examination
from drybuild.findings import Fact
from drybuild.systems.breathing.compressor_map import MapGrid, find_row, highest_ratio
from drybuild.values import HowKnown

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Carried:
    """The aim on one fuel. wanted: W, its middle; planned: (N,) the most as planned; flow, ratio:
    (N,) corrected flow and pressure ratio that the aim takes, kg/s; largest: (N,) of the
    compressor; enough: share of the draws in which that flow is enough, whatever its ratio; on_map:
    in which flow and ratio lie within the map; guessed: that map is another's, or from memory."""

    blend: str
    wanted: float
    planned: FloatArray
    flow: FloatArray
    ratio: FloatArray
    largest: FloatArray
    enough: float
    on_map: float
    guessed: bool = False


def aim_said(state: State) -> bool:
    """Whether somebody has said the power that is aimed at: a new folder is given one as standard.
    """
    return not as_given(state, "goal.power")


def carried(examination: Examination) -> tuple[Carried, ...]:
    """On each fuel that is used; nothing where there is no aim, no turbocharger, or no map."""
    wanted, operating, grid = (
        _known(examination, name)
        for name in ("goal.power", "breathing.operating", "breathing.map_grid")
    )
    if wanted is None or operating is None or not isinstance(grid, MapGrid):
        return ()
    scale = _known(examination, "turbo.flow_scale")
    scale = np.asarray(1.0 if scale is None else scale, dtype=np.float64)
    found = []
    for blend in examination.state.build.blends:
        power = _known(examination, f"breathing.power.{blend}")
        if power is not None and _known(examination, f"blend.{blend}.used") is not False:
            aim = float(np.median(wanted))
            found.append(_on(blend, aim, operating, power.power, grid, scale))
    return tuple(replace(one, guessed=_guessed(examination)) for one in found)


def _guessed(examination: Examination) -> bool:
    fact = examination.evaluation.facts.fact("turbo.flow_scale")
    return isinstance(fact, Fact) and fact.how is HowKnown.ASSUMED


def _on(
    blend: str, wanted: float, operating: Any, power: FloatArray, grid: MapGrid,
    scale: FloatArray,
) -> Carried:  # fmt: skip
    most_power = np.where(np.isfinite(power), power, -np.inf).argmax(axis=0)

    def there(along: FloatArray) -> FloatArray:
        whole = np.broadcast_to(along, np.shape(power))
        return np.asarray(np.take_along_axis(whole, most_power[None, :], axis=0)[0])

    planned = there(power)
    with np.errstate(all="ignore"):
        factor = wanted / planned
        flow, ratio = there(operating.corrected_flow) * factor, (
            there(operating.pressure_ratio) * factor
        )
        row = find_row(grid, ratio)
        inside = (flow <= row.surge + row.width) & (ratio <= highest_ratio(grid, flow))
    largest = np.broadcast_to(float(np.max(grid.edge)) * scale, np.shape(planned))
    return Carried(
        blend, wanted, planned, flow * scale, ratio, largest,
        float(np.mean(flow * scale <= largest)), float(np.mean(inside)),
    )  # fmt: skip


def _known(examination: Examination, address: str) -> Any:
    outcome = examination.evaluation.get(address)
    return outcome.value if outcome.known else None
