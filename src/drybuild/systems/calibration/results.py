"""What the calibration room offers: each mismatch as a number."""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.findings import Room, Source
from drybuild.systems.calibration import formulas
from drybuild.values import Array

ORIFICE = Source("orifice equation (Bernoulli)", how="computed")
DEFINITION = Source("definition", how="computed")
CONTINUITY = Source("continuity", how="computed")

VOLTS = 14.0  # the charging system's voltage, at which maps state the dead time


def fitted_flow(*, flow: Array, rated: Array, pressure: Array) -> Array:
    """Flow of the fitted injectors at the pressure that the map reckons with, m³/s."""
    return formulas.flow_at_pressure(flow=flow, rated_pressure=rated, pressure=pressure)


def dead_time_at(*, curve: Any) -> Array:
    """Dead time of the fitted injectors at 14 V, s."""
    return np.asarray(curve.at(VOLTS))


def register(room: Room) -> None:
    """Offer the results."""
    room.result(
        "calibration.fitted_flow", of=fitted_flow, kind="flow_volume",
        needs={
            "flow": "injectors.static_flow",
            "rated": "injectors.rated_pressure",
            "pressure": "map.injector_pressure",
        },
        formula="Q·√(p/p_rated)", source=ORIFICE,
        valid={"pressure": (150e3, 700e3)},
    )  # fmt: skip
    room.result(
        "calibration.flow_mismatch", of=formulas.mismatch, kind="ratio",
        needs={"fitted": "calibration.fitted_flow", "expected": "map.injector_flow"},
        formula="Q fitted/Q expected − 1", source=DEFINITION,
    )  # fmt: skip
    room.result(
        "calibration.lambda_untrimmed", of=formulas.lambda_by_flow, kind="lambda",
        needs={"fitted_flow": "calibration.fitted_flow", "expected_flow": "map.injector_flow"},
        formula="λ = Q expected/Q fitted", source=DEFINITION,
    )  # fmt: skip
    room.result(
        "calibration.dead_time", of=dead_time_at, kind="time",
        needs={"curve": "injectors.dead_time"}, formula="dead time at 14 V", source=DEFINITION,
    )  # fmt: skip
    room.result(
        "calibration.housing_error", of=formulas.housing_error, kind="ratio",
        needs={"fitted_bore": "air_meter.bore", "expected_bore": "map.air_meter_housing"},
        formula="(d fitted/d expected)² − 1", source=CONTINUITY,
    )  # fmt: skip
    room.result(
        "calibration.rail_mismatch", of=formulas.mismatch, kind="ratio",
        needs={"fitted": "regulator.base_pressure", "expected": "map.rail_base_pressure"},
        formula="p fitted/p expected − 1", source=DEFINITION,
    )  # fmt: skip
