"""All formulas of the brakes room, from hydraulics, balance, heat, fade and swept faces."""

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
from drybuild.systems.brakes.formulas.fade import (
    friction_kept,
    ideal_front_share,
    meeting_rate,
    stop_by_stop,
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
from drybuild.systems.brakes.formulas.swept import (
    heat_growth,
    heat_per_area,
    pad_pressure,
    swept_area,
    template_gap,
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
    "friction_kept",
    "front_share",
    "heat_growth",
    "heat_per_area",
    "ideal_front_share",
    "least_rate",
    "line_pressure",
    "longest_stop",
    "mean_deceleration",
    "meeting_rate",
    "one_stop_rise",
    "pad_pressure",
    "piston_area_one_side",
    "pressure_for_rate",
    "rear_pressure",
    "rod_stroke",
    "side_difference",
    "stop_by_stop",
    "stop_energy",
    "sweep_radius",
    "swept_area",
    "template_gap",
]
