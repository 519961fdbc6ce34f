"""A car of one's own, begun from a starter car: what a planned change finds, and what cures it."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from drybuild.build import Change
from drybuild.build.new import STARTERS, make_build
from drybuild.examine.opened import OpenBuild, open_build
from drybuild.examine.uses import do_of
from drybuild.show.sentences import rest_text


@pytest.mark.parametrize("starter", STARTERS)
def test_guessed_injectors_and_pump_leave_no_rail_pressure_without_an_answer(
    tmp_path: Path, starter: str
) -> None:
    """Each of the guesses is a pump that may be: the solver finds where it works."""
    folder = make_build(
        tmp_path / "car", nearest=starter, driving="yes", first_change="more fuel"
    )  # fmt: skip
    examination = open_build(folder).examine()
    lost = [
        (f.check, note) for f in examination.findings if f.system in ("fuel", "electrics")
        for note in f.outside_range if "have no answer" in note
    ]  # fmt: skip
    assert not lost


def lowered(folder: Path, drop: str, free_length: str) -> OpenBuild:
    """A starter car on springs whose drop and free length are said, and no rate or seat."""
    make_build(folder, nearest="light-roadster", driving="yes", first_change="lower it")
    file = folder / "parts" / "first.toml"
    text = file.read_text(encoding="utf-8")
    said = f"stated_drop = {drop}\nfree_length = {free_length}"
    text = re.sub(r'stated_drop = "25 ± 12 mm".*', said, text)
    file.write_text(text, encoding="utf-8")
    return open_build(folder)


def middle(opened: OpenBuild, address: str, *changes: Change) -> float:
    state = opened.draft("set", changes)
    return float(np.median(opened.examine(state, draws=512).evaluation.get(address).value))


LENGTH = '{ is = "290 mm", by = "maker" }'


def test_a_drop_that_its_maker_states_stays_when_the_springs_free_length_is_noted(
    tmp_path: Path,
) -> None:
    """The force balance is of guessed rates and seats: it is no better word than the maker's."""
    said = lowered(tmp_path / "said", '{ is = "25 mm", by = "maker" }', LENGTH)
    drop = "ride.ride_height_drop.front.left"
    assert middle(said, drop) == pytest.approx(25e-3, abs=1e-3)
    balance = middle(said, "ride.rest_on_new_spring.front.left")
    assert abs(balance - 25e-3) > 5e-3  # else this tells nothing
    # What nobody has said is a guess like the other, and the springs' own length counts.
    guess = lowered(tmp_path / "guess", '{ is = "25 mm", by = "assumed" }', LENGTH)
    assert middle(guess, drop) == pytest.approx(balance, abs=1e-4)
    # A perch that was moved is in no maker's figure.
    moved = Change("set", "damper.front.perch_raise", "10 mm")
    there = middle(said, "ride.rest_on_new_spring.front.left", moved)
    assert middle(said, drop, moved) == pytest.approx(there, abs=1e-4)


def test_what_the_maker_states_is_not_asked_for_again(tmp_path: Path) -> None:
    opened = lowered(tmp_path / "car", '{ is = "25 mm", by = "maker" }', LENGTH)
    examination = opened.examine()
    resting = [f for f in examination.findings if f.armed and f.unknowns
               and f.unknowns[0].input.endswith("stated_drop")]  # fmt: skip
    assert resting
    for finding in resting:
        assert "stated drop" not in do_of(finding)
        assert "stated drop" not in rest_text(finding)
