"""Which measurements are asked for: what is owed, and on which side."""

from __future__ import annotations

from pathlib import Path

import pytest

from drybuild.build import Change
from drybuild.build.declared import declaration, read_value
from drybuild.build.new import make_build
from drybuild.examine.guesses import asked_by_name
from drybuild.examine.measuring import (
    LOOK_UP_FIRST,
    SAID_BY_THE_OWNER,
    TURNS,
    Measurement,
    in_turn,
    measure_next,
    noted_at,
)
from drybuild.examine.naming import plain_name
from drybuild.examine.not_now import not_now
from drybuild.examine.noting import Said, drawn_at, note, present_words, tools_to_choose
from drybuild.examine.opened import open_build
from drybuild.examine.uses import do_of
from drybuild.findings import Fact
from drybuild.show.sentences import settled_text
from drybuild.values import HowKnown

GAP = "corner.rear.{}.upright_point.gap"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_build(
        tmp_path / "roadster", nearest="light-roadster", driving="yes", first_change="lower it"
    )


@pytest.fixture
def hatch(tmp_path: Path) -> Path:
    """A new folder whose wheels and tyres are to be changed, nothing of them measured."""
    return make_build(
        tmp_path / "hatch", nearest="front-turbo-hatch", driving="yes",
        first_change="wheels and tyres",
    )  # fmt: skip


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


def test_what_is_of_a_part_that_nobody_has_chosen_is_asked_last(hatch: Path) -> None:
    asked = in_turn(_asked(hatch))
    waiting = [m.turn == TURNS[-1] for m in asked]
    assert any(waiting)
    assert not all(waiting)
    assert waiting == sorted(waiting)
    assert asked[0].note_as.startswith("corner.")
    file = hatch / "parts" / "first.toml"
    named = file.read_text("utf-8").replace("wheel to be chosen", "Brenn five-spoke")
    file.write_text(named, "utf-8")
    turns = {m.turn for m in _asked(hatch) if m.note_as.startswith("part.my_wheel.")}
    assert turns
    assert TURNS[-1] not in turns


def test_what_a_stop_asks_for_by_name_stands_in_the_list(hatch: Path) -> None:
    examination = open_build(hatch).examine()
    listed = measure_next(examination)
    there = {noted_at(m.input, examination) for m in listed}
    assert len(listed) > 12
    for finding in examination.findings:
        for named in asked_by_name(finding) if finding.stopping else ():
            asked = named.split("|")[0]
            owned_by = asked.removeprefix("base:").partition(".")[0]
            if owned_by not in SAID_BY_THE_OWNER and declaration(asked) is not None:
                assert noted_at(asked, examination) in there, (finding.check, asked)


def test_what_a_stop_asks_for_is_a_guess_and_no_figure_of_the_maker(hatch: Path) -> None:
    examination = open_build(hatch).examine()
    waiting = [f for f in examination.findings if f.waits_for == "a better word"]
    assert waiting
    for finding in waiting:
        fact = examination.evaluation.facts.fact(finding.guesses[0].removeprefix("base:"))
        assert isinstance(fact, Fact)
        if not finding.guesses[0].startswith("base:"):
            assert fact.how is HowKnown.ASSUMED
        assert plain_name(finding.guesses[0], seen_from=finding.subject) in do_of(finding)
    studs = next(f for f in waiting if f.check == "corners.bolt_count")
    assert do_of(studs).startswith("read off ")


def test_one_guess_of_several_is_not_expected_to_settle_what_rests_on_all(folder: Path) -> None:
    among = [m for m in _asked(folder) if m.settles > 0 and m.alone == 0]
    assert among
    for m in among:
        assert "may settle" not in settled_text(m)
        lacks = m.now == "not stated" and m.narrows == 0
        said = settled_text(m)
        assert ("is wanted for" if lacks else "takes") in said or "as guessed" in said


def test_an_odometer_is_read_off_the_dash_and_is_of_the_owner(folder: Path) -> None:
    declared = declaration("identity.odometer")
    assert declared is not None
    assert tools_to_choose(declared)[0] == "dash"
    note(open_build(folder), "identity.odometer", Said(("141200 km",), "Ann", "dash"))
    said = present_words(open_build(folder), "identity.odometer")
    assert said.endswith(", measured")
    draws = drawn_at(open_build(folder), "identity.odometer")
    assert draws is not None
    assert float(draws.max() - draws.min()) < 10e3


def test_what_only_a_running_car_shows_is_looked_up_of_a_part_to_come(tmp_path: Path) -> None:
    made = make_build(
        tmp_path / "hatch", nearest="front-turbo-hatch", driving="yes", first_change="power"
    )
    asked = {m.note_as: m for m in _asked(made)}
    cooler = asked["part.my_charge_cooler.pressure_loss"]
    assert (cooler.tool, cooler.how) == (LOOK_UP_FIRST.tool, LOOK_UP_FIRST.how)
    assert cooler.turn == TURNS[-1]
    for m in asked.values():
        declared = declaration(m.input.removeprefix("base:"))
        assert declared is not None
        if m.note_as.startswith("part.my_"):  # of what is on the car the engine may run
            assert "full load" not in m.how
        elif declared.measure is not None:
            assert m.how == declared.measure.how


def test_while_it_is_apart_what_can_be_measured_comes_first(hatch: Path) -> None:
    opened = open_build(hatch)
    before = {m.note_as: m.turn for m in opened.measure_next(opened.examine())}
    opened.journal.did([Change("open", "raised_rear"), Change("open", "wheels_rear")], who="Ann")
    opened = open_build(hatch)
    asked = in_turn(opened.measure_next(opened.examine()))
    turns = {m.note_as: m.turn for m in asked}
    gap = "corner.rear.left.arch_point.gap"
    assert before[gap] == TURNS[0]
    assert turns[gap] == TURNS[-2] == "once it is back together"
    for m in asked:
        room = m.note_as.endswith((".gap", ".over", "tyre_pressure"))
        if m.note_as.startswith("corner.rear") and room:
            assert m.not_now == "the rear wheels are off"
        elif m.note_as.startswith("corner.front"):
            assert not m.not_now
    assert not_now("regulator.base_pressure", opened.present.state).startswith(
        "the engine does not run as it stands"
    )
    assert not not_now("disc.rear.left.thickness", opened.present.state)


def test_no_reading_is_promised_to_settle_what_stays_unsure_for_its_guesses(
    tmp_path: Path,
) -> None:
    """The promise before a reading follows the rule of the verdict after it."""
    build = make_build(
        tmp_path / "own", nearest="front-turbo-hatch", driving="yes",
        first_change="wheels and tyres",
    )  # fmt: skip
    at = "corner.rear.left.upright_point.gap"

    def told():  # type: ignore[no-untyped-def]
        found = open_build(build).examine("finished")
        (gap,) = (f for f in found.findings
                  if (f.check, f.subject) == ("corners.tyre_upright_gap", "rear.left"))  # fmt: skip
        return next((m for m in measure_next(found, 99) if m.input == at), None), gap

    before, _ = told()
    assert before.as_guessed > before.alone
    assert "may settle both" not in settled_text(before)
    note(open_build(build), at, Said(("45 mm",), "Mara", "coins"))  # as roomy as it can be
    _, gap = told()
    assert gap.chance > 0.99
    assert gap.verdict == "unsure"
    assert len(gap.guesses) > 1


@pytest.mark.parametrize(
    ("address", "text"),
    [("caliper.front.left.passed_on", "0.25"), ("pump_wire.ambient_temperature", "70 °C")],
)
def test_what_no_paper_prints_is_read_by_a_thermometer(address: str, text: str) -> None:
    declared = declaration(address)
    assert declared is not None
    assert declared.measure is not None
    assert declared.measure.tool == "thermometer"
    value = read_value(declared, {"is": text, "by": "thermometer"}, known="measured")
    assert value.how is HowKnown.MEASURED
