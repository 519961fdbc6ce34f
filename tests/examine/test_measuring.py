"""Which measurements are asked for: what is owed, and on which side."""

from __future__ import annotations

from pathlib import Path

import pytest

from drybuild.build.new import make_build
from drybuild.examine.measuring import Measurement, measure_next
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
