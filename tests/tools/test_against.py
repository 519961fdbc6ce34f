"""The fixture that holds formulas to the world is itself held: what it refuses, what it writes."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

CONFTEST = Path(__file__).parents[1] / "outside" / "conftest.py"
MARKERS = ["authority", "textbook", "measured", "cross_model", "practice", "regression"]


@pytest.fixture
def outside(tmp_path: Path) -> Path:
    """A folder of toy outside tests under the real conftest."""
    folder = tmp_path / "outside"
    folder.mkdir()
    shutil.copy(CONFTEST, folder / "conftest.py")
    text = "[pytest]\naddopts = --strict-markers -p no:cacheprovider\nmarkers =\n"
    (tmp_path / "pytest.ini").write_text(text + "".join(f"  {name}\n" for name in MARKERS))
    return folder


def _run(outside: Path, body: str, *options: str) -> tuple[int, str, list[dict[str, object]]]:
    (outside / "test_toy.py").write_text("import math\nimport pytest\n" + body)
    rows = outside.parent / "rows.jsonl"
    environment = {**os.environ, "DRYBUILD_VALIDATION": str(rows)}
    environment.pop("PYTEST_XDIST_WORKER", None)
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-c", outside.parent / "pytest.ini", *options, outside],
        capture_output=True,
        text=True,
        env=environment,
        check=False,
    )
    lines = rows.read_text(encoding="utf-8").splitlines() if rows.exists() else []
    return done.returncode, done.stdout + done.stderr, [json.loads(line) for line in lines]


def test_a_comparison_that_holds_is_written_down(outside: Path) -> None:
    code, _, rows = _run(
        outside,
        "@pytest.mark.textbook\ndef test_root(against):\n"
        "    against('math.sqrt', got=[math.sqrt(2), 2.0], expected=[1.41, 2.0], abs=0.005,"
        " source='a table of roots')\n",
    )
    assert code == 0
    (row,) = rows
    assert row["formula"] == "math.sqrt"
    assert row["mark"] == "textbook"
    assert row["kind"] == "abs"
    assert row["points"] == 2
    assert row["held"] is True
    assert row["error"] == pytest.approx(0.0042135624)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        ("'math.sqrt', got=1.4, expected=1.5, abs=0.05, source='x'", "allowed 0.05"),
        ("'math.sqrt', got=float('nan'), expected=1.5, abs=9, source='x'", "error nan"),
        ("'math.sqrt', got=1.4, expected=1.4, source='x'", "rel= or abs="),
        ("'math.sqrt', got=1.4, expected=1.4, rel=0.1, abs=1, source='x'", "one of them"),
        ("'math.sqrt', got=0.0, expected=0.0, rel=0.1, source='x'", "say abs="),
        ("'math.sqrt', got=1.0, expected=1.0, rel=float('inf'), source='x'", "finite"),
        ("'math.sqrt', got=[1.0], expected=[1.0, 2.0], rel=0.1, source='x'", "shape"),
        ("'math.sqrt', got=1.0, expected=1.0, rel=0.1, source=' '", "names its source"),
        ("'math.pi', got=1.0, expected=1.0, rel=0.1, source='x'", "no formula"),
        ("'math.no_such', got=1.0, expected=1.0, rel=0.1, source='x'", "no_such"),
        ("'nowhere.f', got=1.0, expected=1.0, rel=0.1, source='x'", "nowhere"),
        ("'math.sqrt', got='91 V', expected='91 W', source='x'", "91 W"),
        ("'math.sqrt', got=False, expected=True, source='x'", "True"),
    ],
)
def test_a_comparison_that_does_not_hold_fails(outside: Path, call: str, words: str) -> None:
    code, text, rows = _run(
        outside, f"@pytest.mark.practice\ndef test_it(against):\n    against({call})\n"
    )
    assert code == 1
    assert words in text
    assert not any(row["held"] for row in rows)


def test_texts_compare_exactly(outside: Path) -> None:
    code, _, rows = _run(
        outside,
        "@pytest.mark.authority\ndef test_it(against):\n"
        "    against('math.sqrt', got='91 W', expected='91 W', source='x')\n",
    )
    assert code == 0
    assert rows[0]["kind"] == "exact"


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ("def test_it(against):", "it has: none"),
        ("@pytest.mark.practice\n@pytest.mark.authority\ndef test_it(against):", "practice"),
        ("@pytest.mark.practice\ndef test_it():", "no comparison"),
    ],
)
@pytest.mark.parametrize("options", [(), ("-n", "1")])
def test_a_test_that_cannot_count_stops_the_collection(
    outside: Path, head: str, words: str, options: tuple[str, ...]
) -> None:
    code, text, _ = _run(outside, f"{head}\n    assert True\n", *options)
    assert code not in (0, 5)
    assert words in text


def test_workers_side_by_side_lose_no_row(outside: Path) -> None:
    code, _, rows = _run(
        outside,
        "@pytest.mark.practice\n@pytest.mark.parametrize('n', range(40))\n"
        "def test_it(against, n):\n"
        "    against('math.sqrt', got=n, expected=n, abs=1, source='x' * 300)\n",
        "-n",
        "2",
    )
    assert code == 0
    assert len(rows) == 40
