"""OR-tools' CP-SAT, without the table library that comes with it.

``ortools.sat.python.cp_model`` imports pandas for models that are written over tables; none here
is. That weighs 30 MB and a third of a second. So the import meets a stand-in. Who does write a
model over tables in the same process has the true library brought up at the first use.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any

TABLES, CP_MODEL = "pandas", "ortools.sat.python.cp_model"


class _Tables(ModuleType):
    """Stands in for the table library, and brings it up when something of it is asked for."""

    def __getattr__(self, name: str) -> Any:
        _taken_away(self)
        return getattr(import_module("pandas"), name)


def _taken_away(stand_in: ModuleType) -> None:
    if sys.modules.get(TABLES) is stand_in:
        del sys.modules[TABLES]


def _imported() -> ModuleType:
    if TABLES in sys.modules or CP_MODEL in sys.modules:
        return import_module("ortools.sat.python.cp_model")
    stand_in = _Tables(TABLES)
    # what signatures name while the module is read; a newer one that names more gets the true ones
    named = dict.fromkeys(("Index", "Series"), type("Table", (), {}))
    stand_in.__dict__.update(named)
    sys.modules[TABLES] = stand_in
    try:
        return import_module("ortools.sat.python.cp_model")
    finally:
        _taken_away(stand_in)
        for name in named:
            del stand_in.__dict__[name]


if TYPE_CHECKING:
    from ortools.sat.python import cp_model as cp_model
else:
    cp_model = _imported()
