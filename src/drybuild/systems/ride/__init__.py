"""Ride: springs, dampers, linkage, alignment, balance, ground clearance."""

from drybuild.systems.ride import (
    checks,
    checks_balance,
    checks_setting,
    records,
    results_depth,
    results_kinematics,
    results_roll,
    results_setting,
    results_travel,
    results_weights,
)
from drybuild.systems.ride.results import room

__all__ = [
    "checks",
    "checks_balance",
    "checks_setting",
    "records",
    "results_depth",
    "results_kinematics",
    "results_roll",
    "results_setting",
    "results_travel",
    "results_weights",
    "room",
]
