"""Errors of the work.

BuildFaults
└── WorkFaults    faults in the work library, in work.toml or in what build.toml says of the work
"""

from __future__ import annotations

from drybuild.build import BuildFaults


class WorkFaults(BuildFaults):
    """The work cannot be planned as it stands; ``faults`` holds every fault found."""
