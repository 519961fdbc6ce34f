"""All formulas of the driveline room, from clutch, gearing, roadload and limits."""

from __future__ import annotations

from drybuild.systems.driveline.formulas.clutch import (
    capacity,
    capacity_from_lining,
    clamp_at_pressure,
    facing_pressure,
    mean_radius_uniform_pressure,
    mean_radius_uniform_wear,
    power_held,
)
from drybuild.systems.driveline.formulas.gearing import (
    engine_speed,
    indicated_speed,
    road_speed,
    speed_ratio,
    turns_per_metre,
)
from drybuild.systems.driveline.formulas.limits import (
    bearing_moment,
    bias_share,
    clamp_scatter,
    driven_axle_load,
    flange_capacity,
    least_clamp,
    mean_piston_speed,
    shaft_torque,
)
from drybuild.systems.driveline.formulas.roadload import (
    crank_power,
    load_coefficients,
    road_force,
    rotating_mass_factor,
    top_speed,
    wheel_power,
)

__all__ = [
    "bearing_moment",
    "bias_share",
    "capacity",
    "capacity_from_lining",
    "clamp_at_pressure",
    "clamp_scatter",
    "crank_power",
    "driven_axle_load",
    "engine_speed",
    "facing_pressure",
    "flange_capacity",
    "indicated_speed",
    "least_clamp",
    "load_coefficients",
    "mean_piston_speed",
    "mean_radius_uniform_pressure",
    "mean_radius_uniform_wear",
    "power_held",
    "road_force",
    "road_speed",
    "rotating_mass_factor",
    "shaft_torque",
    "speed_ratio",
    "top_speed",
    "turns_per_metre",
    "wheel_power",
]
