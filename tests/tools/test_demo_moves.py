"""What counts as a moved finding, and what a recording asks for."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest

import demo_moves

ANSWER: dict[str, Any] = {
    "findings": [
        {
            "check": "corners.arch",
            "subject": "rear.left",
            "verdict": "short",
            "margin": {"unit": "m", "median": -0.003, "low": -0.009, "high": 0.002},
            "chance": 0.11,
        },
        {"check": "fuel.pulse", "subject": "", "verdict": "unmeasured", "margin": None},
    ]
}


def _changed(**changes: Any) -> dict[str, Any]:
    answer = copy.deepcopy(ANSWER)
    answer["findings"][0].update(changes)
    return answer


def _moves(after: dict[str, Any]) -> list[str]:
    return [move.key for move in demo_moves.moves(demo_moves.pick(ANSWER), demo_moves.pick(after))]


def _margin(median: float) -> dict[str, Any]:
    return {"unit": "m", "median": median, "low": -0.009, "high": 0.002}


@pytest.mark.parametrize(
    "changes",
    [
        {"verdict": "unsure"},
        {"chance": 0.12},
        {"chance": None},
        {"margin": _margin(-0.0032)},
        {"margin": {**_margin(-0.003), "unit": "mm"}},
        {"margin": None},
    ],
)
def test_a_move_is_seen(changes: dict[str, Any]) -> None:
    assert _moves(_changed(**changes)) == ["corners.arch rear.left"]


@pytest.mark.parametrize("changes", [{}, {"chance": 0.1101}, {"margin": _margin(-0.0030001)}])
def test_a_last_digit_is_no_move(changes: dict[str, Any]) -> None:
    assert _moves(_changed(**changes)) == []


def test_what_comes_and_goes_is_a_move() -> None:
    answer = copy.deepcopy(ANSWER)
    answer["findings"][1]["check"] = "fuel.other"
    assert _moves(answer) == ["fuel.other", "fuel.pulse"]


def test_twins_are_refused() -> None:
    with pytest.raises(SystemExit, match="unique"):
        demo_moves.pick({"findings": ANSWER["findings"] * 2})


def test_recording_asks_for_a_line_in_the_changelog(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answer, record, log = tmp_path / "a.json", tmp_path / "r" / "r.json", tmp_path / "C.md"
    answer.write_text(json.dumps(ANSWER), encoding="utf-8")
    log.write_text("# Changelog\n", encoding="utf-8")
    call = [str(answer), "--against", str(record), "--changelog", str(log)]

    assert demo_moves.main(call) == 1  # nothing recorded yet: all of it moved
    assert demo_moves.main([*call, "--record"]) == 0
    assert '"(demo 1)"' in capsys.readouterr().out
    assert demo_moves.main(call) == 1  # recorded, but nobody was told
    log.write_text("# Changelog\n\n- The demo's first findings. (demo 1)\n", encoding="utf-8")
    assert demo_moves.main(call) == 0
    assert "corners.arch rear.left: not there ->" in capsys.readouterr().out

    answer.write_text(json.dumps(_changed(verdict="unsure")), encoding="utf-8")
    assert demo_moves.main(call) == 1
    assert "short, -0.003 (-0.009 to 0.002) m, 11% -> unsure" in capsys.readouterr().out
    assert demo_moves.main([*call, "--record"]) == 0
    assert demo_moves.main(call) == 1
    assert '"(demo 2)"' in capsys.readouterr().out


def test_recording_the_same_again_changes_nothing(tmp_path: Path) -> None:
    answer, record = tmp_path / "a.json", tmp_path / "r.json"
    answer.write_text(json.dumps(ANSWER), encoding="utf-8")
    call = [str(answer), "--against", str(record), "--record"]
    demo_moves.main(call)
    before = record.read_text(encoding="utf-8")
    demo_moves.main(call)
    assert record.read_text(encoding="utf-8") == before


def test_a_number_is_named_whole() -> None:
    assert not demo_moves.named_in("- Something (demo 12)\n", 1)
    assert not demo_moves.named_in("In prose (demo 1)\n", 1)
    assert demo_moves.named_in("- Something (demo 1)\n", 1)
