"""All formulas of the brakes room, from hydraulics, balance and heat."""

from __future__ import annotations

from drybuild.systems.brakes.formulas.balance import (
    adhesion_used,
    axle_loads,
    deceleration,
    force_per_pressure,
    front_share,
    least_rate,
    longest_stop,
    mean_deceleration,
    pressure_for_rate,
    side_difference,
)
from drybuild.systems.brakes.formulas.heat import (
    after_stops,
    cooling_time,
    descent_rise,
    fluid_temperature,
    one_stop_rise,
    stop_energy,
)
from drybuild.systems.brakes.formulas.hydraulics import (
    brake_torque,
    clamp_force,
    fluid_moved,
    line_pressure,
    piston_area_one_side,
    rear_pressure,
    rod_stroke,
    sweep_radius,
)

__all__ = [
    "adhesion_used",
    "after_stops",
    "axle_loads",
    "brake_torque",
    "clamp_force",
    "cooling_time",
    "deceleration",
    "descent_rise",
    "fluid_moved",
    "fluid_temperature",
    "force_per_pressure",
    "front_share",
    "least_rate",
    "line_pressure",
    "longest_stop",
    "mean_deceleration",
    "one_stop_rise",
    "piston_area_one_side",
    "pressure_for_rate",
    "rear_pressure",
    "rod_stroke",
    "side_difference",
    "stop_energy",
    "sweep_radius",
]
