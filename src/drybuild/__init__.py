"""Drybuild: a trial assembly of the whole car on the computer.

>>> import drybuild
>>> car = drybuild.open_build("examples/plover")      # doctest: +SKIP
>>> car.examine("finished").use("drive").allowed      # doctest: +SKIP
False

Heavy parts are read when first asked for, so that ``import drybuild`` is light.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

_HOMES = {
    "BuildFaults": "drybuild.build",
    "Change": "drybuild.build",
    "Examination": "drybuild.examine",
    "OpenBuild": "drybuild.examine",
    "open_build": "drybuild.work.left",
    "as_table": "drybuild.show.table",
}

if TYPE_CHECKING:
    from drybuild.build import BuildFaults, Change
    from drybuild.examine import Examination, OpenBuild
    from drybuild.show.table import as_table
    from drybuild.work.left import open_build

__all__ = [
    "BuildFaults",
    "Change",
    "Examination",
    "OpenBuild",
    "__version__",
    "as_table",
    "open_build",
]


def __getattr__(name: str) -> Any:
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module 'drybuild' has no attribute {name!r}")
    return getattr(importlib.import_module(home), name)
