"""What must be done before a day is said before it: list, sheet, calendar, screens."""

from __future__ import annotations

from dataclasses import replace

import making_todo as making
import pytest

from drybuild.show.calendar import events
from drybuild.show.cards_paper import contents
from drybuild.show.cards_text import sheet_text, shopping_text
from drybuild.show.work_sheet import sheet_svg
from drybuild.work.as_json_cards import cards_json
from drybuild.work.beforehand import PUMPED, beforehand
from drybuild.work.library import load, outlines
from drybuild.work.library.made import made
from drybuild.work.model import ToDo
from drybuild.work.money import Purse
from drybuild.work.sheets import Sheets

WORDS, TANK = "test tube for the fuel had", "tank driven nearly empty"


@pytest.fixture(scope="module")
def found() -> Sheets:
    """The small plan, one of whose jobs of the second Saturday wants something had."""
    made = making.made_sheets()
    notes = {**made.todo.notes}
    for key in ("job:first-map", "job:alignment"):
        notes[key] = replace(notes[key], beforehand=(WORDS,))
    todo = replace(made.todo, notes=notes)
    return replace(made, todo=todo, duties=beforehand(todo, made.plan))


def of(found: Sheets) -> tuple[str, str, int]:
    """Its session, and its words with the cards that want it."""
    (duty,) = found.duties
    numbers = sorted({c.number for c in found.cards if set(duty.steps) & set(c.steps)})
    return duty.session, f"{WORDS} (", numbers[0]


def test_each_thing_is_said_once_a_session_with_the_cards_that_want_it(found):
    (duty,) = found.duties
    assert [step.key for step in duty.steps] == ["job:first-map", "job:alignment"]
    assert beforehand(found.todo, found.plan, duty.steps) == ()
    assert beforehand(found.todo, found.plan, duty.steps[:1])[0].steps == duty.steps[1:]


def test_the_list_has_it_with_the_day_before(found):
    text = shopping_text(found)
    _, words, number = of(found)
    assert text.startswith("Before the day\n  by Fri 11 Dec")
    assert str(number) in text.split(words)[1].split(")")[0]
    groups = contents(found, only=["list"])["pages"][0]["groups"]
    assert groups[0]["title"] == "Before the day"
    assert groups[0]["items"][0]["what"].startswith(words)
    assert groups[0]["items"][0]["by"] == "Fri 11 Dec"


def test_the_sheet_of_its_day_and_of_no_other_has_it(found):
    session, words, _ = of(found)
    for name in found.ends:
        assert (f"Before the day: {words}" in " ".join(sheet_text(found, name).split())) == (
            name == session
        )
        assert ("Before the day: " in sheet_svg(found, name)) == (name == session)


def test_the_calendar_says_it_the_day_before_and_with_the_session(found):
    session, words, _ = of(found)
    (event,) = [e for e in events(found) if e.kind == "to do before"]
    assert (event.start.day, event.whole_day) == (11, True)
    assert event.words.startswith(words)
    (day,) = [e for e in events(found) if e.about == f"session/{session}"]
    assert f"\n\nBefore the day\n{words}" in day.words


def test_other_programs_have_it_too(found):
    (said,) = cards_json(found, build="", version="")["beforehand"]
    assert said == {
        "words": WORDS, "session": of(found)[0], "tasks": ["job:first-map", "job:alignment"],
    }  # fmt: skip


@pytest.mark.parametrize("outline", outlines())
def test_what_the_library_wants_done_before_is_of_parts_that_it_has(outline):
    library = load(outline)
    said = {name for name, table in library.components.items() if table.beforehand}
    assert {"pump_module", "fuel_tank", "dump_pipe", "turbo", "arms_front"} <= said
    assert all(library.components[name].title for name in said)
    assert "rear tyres" in library.place("tyre", "rear").beforehand[0]
    assert library.jobs["strong_fuel"].beforehand[0] == TANK
    assert not said & set(library.without)


def test_a_component_wants_it_to_come_off_not_to_go_on():
    notes = made(load("transverse-turbo"), Purse("AUD")).notes
    assert notes["take:dump_pipe"].beforehand
    assert not notes["refit:dump_pipe"].beforehand


def driven(found: Sheets, *, off: str = "") -> ToDo:
    """The same work, for which the tank is driven down first."""
    notes = {**found.todo.notes}
    for key in ("job:first-map", "job:alignment"):
        notes[key] = replace(notes[key], beforehand=(TANK,))
    problem = replace(found.todo.problem, off=frozenset({off} - {""}))
    return replace(found.todo, notes=notes, problem=problem)


def test_a_tank_is_driven_down_before_the_car_is_apart(found):
    """The rail is off from the first Saturday to the second: by then it is too late."""
    assert "fuel_rail" in found.plan.ends[0].off
    (duty,) = beforehand(driven(found), found.plan)
    assert (duty.session, duty.words) == ("sat-1", TANK)
    assert {step.session for step in duty.steps} == {"sat-2"}
    whole = replace(found.plan.ends[0], off=frozenset(), pending=frozenset())
    plan = replace(found.plan, ends=(whole, *found.plan.ends[1:]))
    (duty,) = beforehand(driven(found), plan)
    assert (duty.session, duty.words) == ("sat-2", TANK)


def test_a_tank_of_a_car_that_is_apart_is_pumped_out(found):
    (duty,) = beforehand(driven(found, off="raised"), found.plan)
    assert (duty.session, duty.words) == ("sat-2", PUMPED)
