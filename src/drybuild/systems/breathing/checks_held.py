"""Figures that the breathing room's checks are about, and limits that they are held to."""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.systems.breathing.air import Air
from drybuild.systems.breathing.results_parts import Corrections, PowerCurve
from drybuild.systems.breathing.solve import Operating
from drybuild.values import Array


def highest_power(power: PowerCurve) -> Array:
    """Along engine speed, W."""
    return np.asarray(power.power.max(axis=0))


def settled_boost(peak: Array, air: Air) -> Array:
    """Gauge, Pa."""
    return peak - air.pressure


def gauge_charge(operating: Operating, air: Air, overshoot: Array | None) -> Any:
    """Highest pressure behind the compressor, overshoot included, gauge, Pa."""
    over = 0.0 if overshoot is None else overshoot
    return (operating.compressor_outlet_pressure - air.pressure).max(axis=0) + over


def factor(corrections: Corrections) -> Any:
    """The factor itself."""
    return corrections.iso1585.value


def factor_low(corrections: Corrections) -> Any:
    """The low end of its range."""
    return corrections.iso1585.low


def factor_high(corrections: Corrections) -> Any:
    """The high end of its range."""
    return corrections.iso1585.high
