"""Camber and toe of a corner over its whole travel, for the drawings.

From hardpoints where they are stated, else from the curves or gains measured on the car; ``by``
says which. Nothing asks for this result but who draws it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from drybuild.findings import Source
from drybuild.systems.ride import results_inputs as given
from drybuild.systems.ride.results import room
from drybuild.values import Array

GEOMETRY = Source("geometry: angles as found and their change over travel", how="computed")
STATIONS = 25

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class TravelCurves:
    """Over wheel travel (K,), m from ride height as found, + bump; the rest (K, N) or (K, 1).

    camber, toe: rad; half_track_change: m, the wheel centre outboard of where it was found; None
    where it is not known. by: hardpoints, measured curve, stated gain.
    """

    travel: Floats
    camber: Floats
    toe: Floats | None
    half_track_change: Floats | None
    by: str


def travel_curves(
    *,
    full_droop: Array,
    full_bump: Array,
    camber: Array,
    camber_change: Any,
    camber_set: Array | None,
    camber_set_found: Array | None,
    camber_now: Array | None,
    drop: Array | None,
    toe: Array | None,
    toe_change: Any,
    toe_set: Array | None,
    toe_set_found: Array | None,
    toe_now: Array | None,
    outboard: Any,
    by: str,
) -> TravelCurves:
    """The curves from full droop to full bump, both at their medians."""
    ends = float(np.nanmedian(full_droop)), float(np.nanmedian(full_bump))
    travel = np.linspace(-ends[0], ends[1], STATIONS)

    def along(
        found: Array, change: Any, now: Array | None, then: Array | None, measured: Array | None
    ) -> Floats:
        return _rows(
            [
                given.angle_at(
                    found=found, change=change, at=z, travel=drop, set_by=now, set_by_found=then,
                    measured_now=measured,
                )
                for z in travel
            ]
        )  # fmt: skip

    toes = None
    if toe is not None and toe_change is not None:
        toes = along(toe, toe_change, toe_set, toe_set_found, toe_now)
    moved = None if outboard is None else _rows([outboard.at(z) for z in travel])
    cambers = along(camber, camber_change, camber_set, camber_set_found, camber_now)
    return TravelCurves(travel, cambers, toes, moved, by)


def _rows(values: list[Any]) -> Floats:
    shape = np.broadcast_shapes(*(np.shape(v) for v in values), (1,))
    return np.stack([np.broadcast_to(np.asarray(v, dtype=np.float64), shape) for v in values])


room.result(
    "ride.travel_curves",
    of=travel_curves,
    per="corner",
    kind="object",
    needs={
        "full_droop": "ride.full_droop.{corner}",
        "full_bump": "ride.full_bump.{corner}",
        "camber": "corner.{corner}.camber",
        "camber_change": (
            "ride.camber_by_links.{corner}|axle.{axle}.camber_curve|axle.{axle}.camber_gain"
        ),
        "camber_set": "?ride.camber_added.{corner}",
        "camber_set_found": "?base:ride.camber_added.{corner}",
        "camber_now": "?corner.{corner}.camber_now",
        "drop": "?ride.ride_height_drop.{corner}",
        "toe": "?corner.{corner}.toe|ride.toe_from_length.{corner}",
        "toe_change": "?ride.toe_by_links.{corner}|axle.{axle}.toe_curve|axle.{axle}.toe_gain",
        "toe_set": "?ride.toe_added.{corner}",
        "toe_set_found": "?base:ride.toe_added.{corner}",
        "toe_now": "?corner.{corner}.toe_now",
        "outboard": "?ride.outboard_by_links.{corner}",
        "by": "ride.angles_from.{corner}",
    },
    formula="as measured now + change from there; else as found + change over travel + what the "
    "adjuster adds",
    source=GEOMETRY,
)
