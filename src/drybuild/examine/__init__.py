"""Asks every check of a state: findings, uses, biggest unknowns, measure next, fixes, workings."""

from drybuild.examine.examination import Examination, examine_state
from drybuild.examine.fixes import Cure, Fix, cure_all, find_fixes
from drybuild.examine.measuring import Measurement, measure_next
from drybuild.examine.opened import OpenBuild, open_build
from drybuild.examine.uses import Hold, Owed, UseState
from drybuild.examine.workings import Line, Step, workings

__all__ = [
    "Cure",
    "Examination",
    "Fix",
    "Hold",
    "Line",
    "Measurement",
    "OpenBuild",
    "Owed",
    "Step",
    "UseState",
    "cure_all",
    "examine_state",
    "find_fixes",
    "measure_next",
    "open_build",
    "workings",
]
