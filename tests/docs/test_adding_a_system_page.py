"""The walk-through is held to the code: its files are added to the program and do what it says."""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

import floors
import outside_rows

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "adding-a-system.md").read_text(encoding="utf-8")
FILE = re.compile(r"^`(?P<name>[\w./]+)`\n\n```\w+\n(?P<text>.*?)^```$", re.MULTILINE | re.DOTALL)

# Runs in a process of its own: rooms and kinds are read once, and stay.
DRIVE = """
import json, sys
from pathlib import Path
root = Path(sys.argv[1])
import drybuild.build.kinds as kinds
kinds.ROOMS = (*kinds.ROOMS, "towing")
import drybuild.systems as systems
kinds.__path__.append(str(root / "src/drybuild/build/kinds"))
systems.__path__.append(str(root / "src/drybuild/systems"))
import drybuild
build = drybuild.open_build(root)
found = {}
for state in ("as found", "finished"):
    examined = build.examine(state)
    rows = [f for f in examined.findings if f.check == "towing.rear_axle"]
    found[state] = [
        {"verdict": f.verdict.value, "armed": f.armed, "slack": f.slack.median if f.slack else None,
         "unknowns": [u.input for u in f.unknowns], "chance": f.chance}
        for f in rows
    ]
    found[state + " holds"] = [h.check for h in examined.use("drive").holds]
    if state == "finished":
        found["steps"] = [s.address for s in build.workings(examined, rows[0])]
print(json.dumps(found))
"""


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("house")
    for found in FILE.finditer(PAGE):
        path = root / found["name"]
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(found["text"], encoding="utf-8")
    return root


@pytest.fixture(scope="module")
def answer(house: Path) -> dict[str, Any]:
    done = subprocess.run(
        [sys.executable, "-c", DRIVE, str(house)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_the_page_has_all_the_files(house: Path) -> None:
    names = {path.relative_to(house).as_posix() for path in house.rglob("*") if path.is_file()}
    room = {
        f"src/drybuild/systems/towing/{n}.py" for n in ["__init__", "formulas", "results", "checks"]
    }
    assert names >= room | {"build.toml", "car.toml", "parts/bar.toml"}


def test_without_a_tow_bar_nobody_is_asked(answer: dict[str, Any]) -> None:
    assert answer["as found"] == []
    assert "towing.rear_axle" not in answer["as found holds"]


def test_with_it_the_check_says_what_the_page_says(answer: dict[str, Any]) -> None:
    (finding,) = answer["finished"]
    assert finding["verdict"] == "short"
    assert finding["armed"] is True
    # 640 - 530 - 75·(1 + 880/2330)
    assert finding["slack"] == pytest.approx(6.67, abs=0.2)
    assert "tow_bar.nose_mass" in finding["unknowns"]
    assert "towing.rear_axle" in answer["finished holds"]
    assert answer["steps"] == ["towing.rear_axle_added", "towing.rear_axle"]


def test_the_formula_is_what_its_outside_test_says(house: Path) -> None:
    text = (house / "src/drybuild/systems/towing/formulas.py").read_text(encoding="utf-8")
    formula = next(n for n in ast.parse(text).body if isinstance(n, ast.FunctionDef))
    scope: dict[str, Any] = {"Array": float}
    exec(compile(ast.Module([formula], []), "formulas", "exec"), scope)
    test = (house / "tests/outside/test_towing.py").read_text(encoding="utf-8")
    call = next(
        node
        for node in ast.walk(ast.parse(test))
        if isinstance(node, ast.Call) and ast.unparse(node.func) == "against"
    )
    given = {word.arg: word.value for word in call.keywords}
    got = eval(ast.unparse(given["got"]), scope)
    assert got == pytest.approx(ast.literal_eval(given["expected"]), rel=1e-12)
    assert "@pytest.mark.textbook" in test


def test_the_room_keeps_the_floors(house: Path) -> None:
    package = house / "src" / "drybuild"
    rules = floors.read_rules()
    faults = [
        str(fault)
        for fault in floors.check(package, rules)
        if fault.path != floors.RULES  # exceptions of the real house are not used in this one
    ]
    assert faults == []
    assert [one.name for one in outside_rows.formulas(package)] == [
        "drybuild.systems.towing.formulas.rear_axle_added"
    ]
