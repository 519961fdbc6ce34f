"""OR-tools without its table library, against OR-tools as it comes."""

from __future__ import annotations

import subprocess
import sys

TABLES = """
import sys
from drybuild.work.cp import cp_model
assert "pandas" not in sys.modules, "the table library came along"
model = cp_model.CpModel()
few = [model.new_bool_var("") for _ in range(3)]
model.add(sum(few) >= 2)
model.minimize(sum(few))
solver = cp_model.CpSolver()
assert solver.solve(model) == cp_model.OPTIMAL and solver.objective_value == 2
assert "pandas" not in sys.modules, "plain models brought the table library up"

import pandas
kept = model.new_bool_var_series("kept", pandas.Index(["a", "b"]))
model.add(sum(kept) == 1)
assert solver.solve(model) == cp_model.OPTIMAL
assert isinstance(solver.boolean_values(kept), pandas.Series)
assert sorted(solver.boolean_values(kept)) == [False, True]
"""

AS_IT_COMES = """
import ortools.sat.python.cp_model as plain
import pandas
from drybuild.work.cp import cp_model
assert cp_model is plain and cp_model.pd is pandas
"""


def test_plain_models_do_without_tables_and_models_over_tables_still_work() -> None:
    subprocess.run([sys.executable, "-c", TABLES], check=True)


def test_what_is_there_already_is_taken_as_it_is() -> None:
    subprocess.run([sys.executable, "-c", AS_IT_COMES], check=True)
