"""What all tests share: how wide the screen is, how hypothesis looks for examples."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

# Whoever runs the tests, words are broken as on a screen that is wide enough.
os.environ["COLUMNS"] = "120"

# No deadline: two workers on two cores make times jump, and a slow example is not a wrong one.
settings.register_profile("drybuild", deadline=None, suppress_health_check=[HealthCheck.too_slow])
# In CI the same examples each time, so that a landing is not refused by luck.
settings.register_profile("ci", settings.get_profile("drybuild"), derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "drybuild")
