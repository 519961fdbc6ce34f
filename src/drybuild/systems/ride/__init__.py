"""Ride: springs, dampers, linkage, alignment, balance, ground clearance."""

from drybuild.systems.ride import checks, checks_balance, records, results_roll
from drybuild.systems.ride.results import room

__all__ = ["checks", "checks_balance", "records", "results_roll", "room"]
