"""The floor check is held to toy houses with one fault each, and to the real one."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

import floors

ROOT = Path(__file__).parents[2]


@pytest.fixture
def rules() -> floors.Rules:
    return floors.Rules(
        floors=(("values",), ("build",), ("systems",), ("work", "logs"), ("cli",)),
        top=frozenset({"__init__", "__main__"}),
        apart=frozenset({"systems"}),
        formulas=("math", "numpy", "drybuild.values", "drybuild.values.*"),
        not_formulas=("__init__", "checks*"),
        beside_top=frozenset({"cli"}),
    )


SOUND = {
    "__init__.py": "from drybuild.work import plan\n",
    "values/__init__.py": "from drybuild.values.text import parse\n",
    "values/text.py": "import re\n",
    "build/__init__.py": "from ..values import text\nfrom drybuild import values\n",
    "systems/__init__.py": "from drybuild.systems.brakes import room\n",
    "systems/brakes/__init__.py": "from .formulas import heat\n",
    "systems/brakes/formulas.py": "import math\nfrom drybuild.values import Array\n",
    "systems/ride/__init__.py": "from drybuild.build import part\n",
    "systems/ride/formulas.py": "import numpy as np\nfrom .roll import angle\n",
    "systems/ride/roll.py": "import math\n",
    "systems/ride/checks.py": "from drybuild.build import part\nfrom .roll import angle\n",
    "work/__init__.py": "from drybuild.systems import REGISTRY\n",
    "logs/__init__.py": "",
    "cli.py": "import drybuild\nfrom drybuild.systems.brakes import room\n",
}


def _house(tmp_path: Path, changes: dict[str, str]) -> Path:
    root = tmp_path / "drybuild"
    for name, text in {**SOUND, **changes}.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return root


def test_a_sound_house_has_no_fault(tmp_path: Path, rules: floors.Rules) -> None:
    assert floors.check(_house(tmp_path, {}), rules) == []


@pytest.mark.parametrize(
    ("name", "text", "line", "words"),
    [
        ("values/text.py", "from drybuild.build import part\n", 1, "a floor above"),
        ("values/text.py", "import re\nimport drybuild.cli\n", 2, "a floor above"),
        ("values/text.py", "from ..build import part\n", 1, "a floor above"),
        ("values/text.py", "from .. import cli\n", 1, "a floor above"),
        ("values/text.py", "from drybuild import Build\n", 1, "from drybuild itself"),
        ("values/text.py", "import drybuild\n", 1, "from drybuild itself"),
        (
            "values/text.py",
            "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from drybuild import cli\n",
            3,
            "a floor above",
        ),
        (
            "values/text.py",
            "import importlib\nX = importlib.import_module('drybuild.cli')\n",
            2,
            "a floor above",
        ),
        (
            "values/text.py",
            "from importlib import import_module\nX = import_module('.' + 'cli')\n",
            2,
            "only known when it runs",
        ),
        ("logs/__init__.py", "from drybuild.work import plan\n", 1, "neighbour"),
        ("systems/ride/__init__.py", "from drybuild.systems.brakes import x\n", 1, "by address"),
        ("systems/ride/__init__.py", "from ..brakes.formulas import heat\n", 1, "by address"),
        ("systems/ride/__init__.py", "from drybuild.systems import REGISTRY\n", 1, "by address"),
        ("systems/brakes/formulas.py", "import pathlib\n", 1, "plain numbers"),
        ("systems/brakes/formulas.py", "from drybuild.build import x\n", 1, "plain numbers"),
        ("systems/ride/roll.py", "import pint\n", 1, "plain numbers"),
        ("systems/ride/formulas/roll.py", "import pint\n", 1, "plain numbers"),
        ("systems/ride/roll.py", "from drybuild.systems.ride import checks\n", 1, "plain numbers"),
        ("cli.py", "def main():\n    import json\n", 2, "inside a function"),
        ("attic/__init__.py", "", 1, "no floor"),
        ("cli.py", "import drybuild.attic\n", 1, "no floor"),
        ("cli.py", "import re\nimport (\n", 2, "cannot be read"),
    ],
)
def test_each_fault_is_found_where_it_stands(
    tmp_path: Path, rules: floors.Rules, name: str, text: str, line: int, words: str
) -> None:
    found = floors.check(_house(tmp_path, {name: text}), rules)
    assert len(found) == 1, [str(fault) for fault in found]
    assert found[0].path.as_posix().endswith(name)
    assert found[0].line == line
    assert words in found[0].what


def test_a_deferred_import_with_a_reason_is_allowed_and_must_be_used(
    tmp_path: Path, rules: floors.Rules
) -> None:
    entry = floors.Deferred("drybuild.cli", "matplotlib.*", "half a second")
    allowed = replace(rules, deferred=(entry,))
    root = _house(tmp_path, {"cli.py": "def draw():\n    import matplotlib.pyplot\n"})
    assert floors.check(root, allowed) == []
    (root / "cli.py").write_text("", encoding="utf-8")
    assert "used no more" in floors.check(root, allowed)[0].what


def test_a_deferred_import_does_not_open_the_floors(tmp_path: Path, rules: floors.Rules) -> None:
    allowed = replace(
        rules, deferred=(floors.Deferred("drybuild.values.*", "drybuild.cli", "none"),)
    )
    root = _house(tmp_path, {"values/text.py": "def f():\n    from drybuild import cli\n"})
    assert ["a floor above" in fault.what for fault in floors.check(root, allowed)] == [True]


def test_a_dynamic_import_with_a_reason_is_allowed_and_must_be_used(
    tmp_path: Path, rules: floors.Rules
) -> None:
    allowed = replace(rules, dynamic=(floors.Deferred("drybuild.build", "", "one list"),))
    line = "import importlib\nROOMS = [importlib.import_module(n) for n in NAMES]\n"
    root = _house(tmp_path, {"build/__init__.py": line})
    assert floors.check(root, allowed) == []
    assert len(floors.check(root, rules)) == 1
    (root / "build" / "__init__.py").write_text("", encoding="utf-8")
    assert "used no more" in floors.check(root, allowed)[0].what


def test_every_exception_has_its_reason() -> None:
    rules = floors.read_rules()
    for entry in (*rules.deferred, *rules.dynamic):
        assert len(entry.because.split()) >= 4, entry


def test_the_command_answers_by_its_exit_code(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = _house(tmp_path, {"values/text.py": "import drybuild.cli\n"})
    assert floors.main([str(bad)]) == 1
    assert "text.py:1:" in capsys.readouterr().out
    assert floors.main([str(tmp_path / "nothing")]) == 2


def test_our_own_house_stands() -> None:
    found = floors.check(ROOT / "src" / "drybuild", floors.read_rules())
    assert [str(fault) for fault in found] == []
