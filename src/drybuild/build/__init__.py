"""The build folder: its models, the car's State and the Changes that lead from one to the next."""

from drybuild.build.build import Build, Stated, in_order, job_changes, read_build
from drybuild.build.errors import BuildFaults, BuildProblem, ChangeRefused, Fault, UnknownName
from drybuild.build.state import Change, State

__all__ = [
    "Build",
    "BuildFaults",
    "BuildProblem",
    "Change",
    "ChangeRefused",
    "Fault",
    "State",
    "Stated",
    "UnknownName",
    "in_order",
    "job_changes",
    "read_build",
]
