"""An invented compressor map for tests."""

from __future__ import annotations

import numpy as np

from drybuild.systems.breathing.compressor_map import SpeedLine, make_grid

RPM = np.pi / 30.0


def lines(top_flow=0.30, top_ratio=3.5, speeds=(50, 75, 100, 115, 130, 140, 150)):
    found = []
    for speed in speeds:
        f = speed / speeds[-1]
        ratio = 1.0 + (top_ratio - 1.0) * f**2.1
        share = np.linspace(0.0, 1.0, 7)
        surge, choke = 0.3 * top_flow * f**1.45, top_flow * f**0.95
        found.append(
            SpeedLine(
                speed * 1e3 * RPM,
                tuple(surge + (choke - surge) * share),
                tuple(1.0 + (ratio - 1.0) * (1.0 - 0.4 * share**2.4)),
                tuple(0.78 - 0.09 * (f - 0.74) ** 2 - 0.2 * (share - 0.42) ** 2),
            )
        )
    return found


def grid(**given):
    return make_grid(lines=lines(**given), temperature=298.0, pressure=100e3)
