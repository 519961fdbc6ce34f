"""A car of one's own, begun from a starter car: what a planned change finds, and what cures it."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from lowered_car import lowered_car

from drybuild.build import Change
from drybuild.build.new import STARTERS, make_build
from drybuild.examine import Examination
from drybuild.examine.amounts import Needed, needed, planned
from drybuild.examine.opened import OpenBuild, open_build
from drybuild.examine.uses import do_of
from drybuild.examine.usual import ADDED, offers, plan
from drybuild.findings import Verdict
from drybuild.show.answers import CONTRADICT, GUESSED, fix_answer, known_first
from drybuild.show.sentences import rest_text
from drybuild.show.usual_words import TO_CHOOSE, needed_text
from drybuild.values import HowKnown


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


def needs_of(examination: Examination, name: str) -> dict[str, Needed]:
    offer = next(o for o in (*offers(examination), *planned(examination)) if o.usual.name == name)
    return {one.place: one for one in needed(examination, offer)}


def begun(folder: Path, first: str, starter: str = "front-turbo-hatch") -> Path:
    return make_build(folder, nearest=starter, driving="yes", first_change=first)


def test_the_amount_of_a_usual_cure_is_the_smallest_that_is_enough(tmp_path: Path) -> None:
    """Not what cures the best estimate: that cures half of the cars it may be."""
    folder = lowered_car(tmp_path / "car")
    opened = open_build(folder)
    examination = opened.examine()
    one = needs_of(examination, "camber")["arm.front"]
    assert one.enough
    assert one.more
    short = examination.finding("ride.camber_reach", "front.left").margin
    assert short is not None
    assert one.value > -short.median
    plan(opened.build, next(o for o in offers(examination) if o.usual.name == "camber"))
    for value, enough in ((one.value, True), (one.value - np.radians(0.1), False)):
        said = f'camber_range = {{is = "{np.degrees(value):.1f} deg", by = "maker"}}'
        file = folder / ADDED
        text = file.read_text(encoding="utf-8")
        at = text.index("camber_range", text.index("[part.my_camber_front]"))
        file.write_text(text[:at] + said + text[text.index("\n", at) :], encoding="utf-8")
        found = open_build(folder).examine().finding("ride.camber_reach", "front.left")
        assert (found.verdict is Verdict.ENOUGH) == enough, (value, found.chance)


def test_planned_and_still_open_it_is_said_what_the_part_has_to_be(tmp_path: Path) -> None:
    """Looked at, added, looked at again: it ends with a figure to buy by."""
    folder = begun(tmp_path / "car", "lower it")
    opened = open_build(folder)
    examination = opened.examine()
    offer = next(o for o in offers(examination) if o.usual.name == "bump-stops")
    plan(opened.build, offer)
    again = open_build(folder).examine()
    assert not any(o.usual.name == "bump-stops" for o in offers(again))
    left = [f for f in again.findings if f.check == "ride.bump_stop_gap" and f.verdict != "enough"]
    assert left  # on the guess it stays open
    for one in needs_of(again, "bump-stops").values():
        assert not one.more
        text = needed_text(one, "metric")
        assert "free length" in text
        assert " or less makes it enough" in text
    said = fix_answer(left[0], (), again, "metric")
    assert TO_CHOOSE in said
    assert "or less makes it enough" in " ".join(said.split())


def test_where_no_amount_is_enough_it_is_said_what_the_rest_hangs_on(tmp_path: Path) -> None:
    """A larger pump sends more back: on this guess the regulator's rise counts, not the line."""
    examination = open_build(begun(tmp_path / "car", "more fuel")).examine()
    (one,) = needs_of(examination, "return-line").values()
    assert not one.enough
    text = needed_text(one, "metric")
    assert "none makes it enough, at best enough " in text
    assert "regulator rise" in text
    # What stops nothing and is likelier short than not has its cures too.
    finding = examination.finding("fuel.return_flow", "petrol")
    assert not finding.stopping
    named = {o.usual.name for o in offers(examination) if finding in o.findings}
    assert named == {"return-line", "regulator"}


def test_stated_figures_that_contradict_each_other_are_to_be_read_first(tmp_path: Path) -> None:
    folder = begun(tmp_path / "car", "power")
    text = (folder / "parts" / "standard.toml").read_text(encoding="utf-8")
    part, _, rest = text.partition("[part.std_regulator]")
    stated = 'base_pressure = {is = "4 bar gauge", by = "maker"}'
    rest = re.sub(r'base_pressure = "[^"]+".*', stated, rest, count=1)
    (folder / "parts" / "standard.toml").write_text(
        f"{part}[part.std_regulator]{rest}", encoding="utf-8"
    )
    first = folder / "parts" / "first.toml"
    first.write_text(
        re.sub(r"rail_base_pressure = .*",
               'rail_base_pressure = {is = "3 bar gauge", by = "maker"}',
               first.read_text(encoding="utf-8")),
        encoding="utf-8",
    )  # fmt: skip
    examination = open_build(folder).examine()
    finding = examination.finding("calibration.rail_pressure", "car")
    assert finding.verdict is Verdict.SHORT
    assert known_first(finding) == f"{CONTRADICT}: measure regulator base pressure"
    guessed = finding.but(lowest_known=HowKnown.ASSUMED)
    assert known_first(guessed) == ""  # short whatever the guess is
    assert known_first(guessed.but(verdict=Verdict.UNSURE)).startswith(GUESSED)
    assert "regulator" in {o.usual.name for o in offers(examination) if finding in o.findings}
