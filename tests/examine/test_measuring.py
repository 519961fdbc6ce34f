"""Which measurements are asked for: what is owed, and on which side."""

from __future__ import annotations

from pathlib import Path

import pytest

from drybuild.build.new import make_build
from drybuild.examine.measuring import TURNS, Measurement, in_turn, measure_next
from drybuild.examine.noting import Said, note
from drybuild.examine.opened import open_build

GAP = "corner.rear.{}.upright_point.gap"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_build(
        tmp_path / "roadster", nearest="light-roadster", driving="yes", first_change="lower it"
    )


def _asked(folder: Path) -> list[Measurement]:
    return list(measure_next(open_build(folder).examine(), most=60))


def _of_the_gap(folder: Path) -> list[Measurement]:
    gap = (GAP.format("left"), GAP.format("right"))
    return [m for m in _asked(folder) if m.input in gap]


def test_the_side_that_is_written_down_is_not_asked_for_again(folder: Path) -> None:
    (both,) = _of_the_gap(folder)
    assert both.both_sides
    assert both.all_minutes == 2 * both.minutes
    note(open_build(folder), GAP.format("left"), Said(("18 mm",), "Ann", "coins"))
    (other,) = _of_the_gap(folder)
    assert other.input == GAP.format("right")
    assert not other.both_sides
    assert other.all_minutes == other.minutes
    assert {subject for _, subject in other.findings} == {"rear.right"}


def test_no_more_is_expected_to_be_settled_than_rests_on_it(folder: Path) -> None:
    found = _asked(folder)
    assert found
    for m in found:
        assert 0 < m.settles <= len(m.findings) + 1e-9


def test_what_is_of_a_part_that_nobody_has_chosen_is_asked_last(tmp_path: Path) -> None:
    folder = make_build(
        tmp_path / "hatch", nearest="front-turbo-hatch", driving="yes",
        first_change="wheels and tyres",
    )  # fmt: skip
    asked = in_turn(_asked(folder))
    waiting = [m.turn == TURNS[-1] for m in asked]
    assert any(waiting)
    assert not all(waiting)
    assert waiting == sorted(waiting)
    assert asked[0].note_as.startswith("corner.")
    file = folder / "parts" / "first.toml"
    named = file.read_text("utf-8").replace("wheel to be chosen", "Brenn five-spoke")
    file.write_text(named, "utf-8")
    turns = {m.turn for m in _asked(folder) if m.note_as.startswith("part.my_wheel.")}
    assert turns
    assert TURNS[-1] not in turns
