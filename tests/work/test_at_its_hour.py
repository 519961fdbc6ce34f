"""Hand checks that have an hour stand on a card: before the engine turns, before it goes down."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import making_todo as making
import pytest

from drybuild.examine import Owed
from drybuild.examine.opened import open_build
from drybuild.show.cards_paper import _hands
from drybuild.show.cards_text import card_text
from drybuild.show.cards_words import at_their_hour_text, hands_due
from drybuild.work.at_its_hour import (
    HANGING,
    LOOKED_AT,
    at_their_hour,
    counted,
    letting_down,
    placed,
)
from drybuild.work.library.reader import load, outlines
from drybuild.work.model import Notes, Step

FRONT = ("wheel.front.left", "wheel.front.right")
TURNED = Owed("corners.turned", "wheel turned", FRONT, ("move",), ("value",), False, "", "", True)
FLASHED = Owed("map.flashed", "map read back", ("map",), ("run",), ("value",), False, "", "")
FULL = Owed("fuel.known", "content known", ("tank",), ("full load",), ("value",), False, "", "")


@pytest.fixture(scope="module")
def made():
    return making.made_sheets()


def with_records(cards, place, *records):
    bare = [replace(card, records=(), makes=()) for card in cards]
    bare[place] = replace(bare[place], records=records)
    return bare


def lowering(card, what):
    """The card with its first task letting the car down."""
    task = card.tasks[0]
    step = replace(task.step, kind="refit", what=what)
    return replace(card, tasks=(replace(task, step=step), *card.tasks[1:]))


def running(problem, key):
    """The problem with one job that runs the engine."""
    job = problem.jobs[key]
    job = replace(job, work=replace(job.work, engine="runs"))
    return replace(problem, jobs={**problem.jobs, key: job})


def test_what_is_seen_hanging_stands_on_the_card_that_lets_that_end_down(made):
    problem, cards = made.todo.problem, made.cards
    day = [n for n, card in enumerate(cards) if card.session == cards[0].session]
    assert len(day) > 2
    given = with_records(cards, day[0], TURNED)
    given[day[1]] = lowering(given[day[1]], "raised_rear")
    given[day[2]] = lowering(given[day[2]], "raised_front")
    found = at_their_hour(problem, given)
    assert [o.title for o in found[day[2]].makes] == [f"{HANGING}: wheel turned"]
    down = [task.steps for task in found[day[2]].tasks if letting_down(task.step)]
    assert down[0][0] == LOOKED_AT  # who reads from the top has it in front of the jack
    assert not found[day[1]].makes
    assert found[day[0]].records == (TURNED,)
    given[day[1]] = replace(given[day[1]], records=(TURNED,))
    assert at_their_hour(problem, given)[day[2]].makes == found[day[2]].makes  # once
    given[day[2]] = replace(given[day[2]], makes=(TURNED,))
    assert at_their_hour(problem, given)[day[2]].makes == found[day[2]].makes  # its own work's


def test_what_must_be_known_before_it_runs_stands_on_the_card_whose_work_makes_it_owed(made):
    problem, cards = made.todo.problem, made.cards
    step = next(s for c in cards for s in c.steps if s.key == "job:alignment")
    later = next(n for n, c in enumerate(cards) if step in c.steps)
    place = next(n for n, c in enumerate(cards) if c.session == cards[later].session)
    assert place < later
    given = with_records(cards, place, FLASHED, FULL)
    assert not at_their_hour(problem, given)[place].makes  # nothing runs the engine after it
    runs = running(problem, "alignment")
    card = at_their_hour(runs, given)[place]
    assert (card.makes, card.records) == ((FLASHED,), (FULL,))
    todo = replace(made.todo, problem=runs)
    sheets = replace(made, todo=todo, cards=at_their_hour(runs, given))
    assert placed(runs, card) == (FLASHED,)
    assert "map read back: value" in card_text(card, sheets)
    said = at_their_hour_text(sheets, card.session)
    assert said == f"On a card, for they have their hour: map read back (card {card.number})."
    assert at_their_hour_text(replace(made, cards=cards[:1]), cards[0].session) == ""
    ends = sheets.ends[card.session]
    end = counted(sheets.cards, card.session, replace(ends, owed=(FLASHED, FULL), counted_on=()))
    assert (end.owed, end.counted_on) == ((FULL,), (FLASHED,))
    days = replace(sheets, ends={**sheets.ends, card.session: end})
    assert FLASHED not in hands_due(days)[card.session]
    assert _hands(days, card.session)["words"].endswith(said)


def test_a_lift_lets_both_ends_down():
    step = Step("refit", "raised_lift", "sat-1", 0, 1, ())
    assert letting_down(step) == {"front", "rear"}
    assert letting_down(replace(step, kind="take")) == set()
    assert letting_down(replace(step, what="raised_rear")) == {"rear"}


def test_the_rooms_say_which_checks_are_made_while_the_wheel_hangs():
    registry = open_build(Path(__file__).parents[2] / "examples" / "plover").registry
    hanging = {name for name, spec in registry.records.items() if spec.hanging}
    assert hanging == {"corners.turned_by_hand", "brakes.hose_free", "ride.springs_seated"}


WHEELS = (*FRONT, "wheel.rear.left", "wheel.rear.right")
SEATS = Owed("seats", "nut seats seen", WHEELS, ("creep",), ("value",), False, "", "")
HOSES = Owed("hoses", "nothing left inside", ("turbo",), ("run",), ("value",), False, "", "")
NOTES = {
    "refit:wheels_front": Notes("front wheels on", records=("seats",)),
    "refit:wheels_rear": Notes("rear wheels on", records=("seats",)),
    "refit:airbox": Notes("air box on", records=("hoses",)),
    "refit:pipes": Notes("pipes on", records=("hoses",)),
}


def row(made, *rows):
    """Cards in a row of a day, a quarter each: what each puts back, makes owed and makes."""
    card = made.cards[0]
    found = []
    for n, (back, records, makes) in enumerate(rows):
        steps = [Step("refit", what, card.session, 4 * n, 4 * n + 4, ("Ann",)) for what in back]
        steps = steps or [Step("take", "x", card.session, 4 * n, 4 * n + 4, ("Ann",))]
        tasks = tuple(replace(card.tasks[0], step=step) for step in steps)
        found.append(replace(
            card, number=n + 1, tasks=tasks, records=records, makes=makes, verify=(),
        ))  # fmt: skip
    return found


def no_changes(monkeypatch):
    monkeypatch.setattr("drybuild.work.at_its_hour.changes_of", lambda problem, step: ())


def test_what_is_seen_as_something_goes_back_on_stands_there_and_not_days_later(made, monkeypatch):
    no_changes(monkeypatch)
    cards = row(
        made, ((), (SEATS,), ()), (("wheels_front",), (), ()), (("wheels_rear",), (), ()),
        ((), (), (SEATS,)),
    )  # fmt: skip
    _, front, rear, late = at_their_hour(made.todo.problem, cards, NOTES)
    assert not late.makes
    assert not front.makes  # a record speaks of all its places: it is written once all are on
    assert front.verify == ("front wheels on: nut seats seen; written down on card 3",)
    assert [o.title for o in rear.makes] == ["front wheels on (card 2), rear wheels on: "
                                             "nut seats seen"]
    assert rear.makes[0].places == WHEELS


def test_an_end_without_an_hour_leaves_the_record_with_the_card_that_asks_for_it(made, monkeypatch):
    no_changes(monkeypatch)
    cards = row(made, ((), (SEATS,), ()), (("wheels_front",), (), ()), ((), (), (SEATS,)))
    _, front, late = at_their_hour(made.todo.problem, cards, NOTES)
    assert late.makes == (SEATS,)
    assert front.verify == ("front wheels on: nut seats seen; written down on card 3",)
    put_back_before = row(made, (("wheels_front",), (), ()), ((), (SEATS,), ()), ((), (), (SEATS,)))
    found = at_their_hour(made.todo.problem, put_back_before, NOTES)
    assert found[2].makes == (SEATS,)
    assert found[0].verify == ()


def test_of_several_hoses_the_last_that_goes_on_has_the_check(made, monkeypatch):
    no_changes(monkeypatch)
    cards = row(
        made, ((), (HOSES,), ()), (("pipes",), (), ()), (("airbox",), (), ()), ((), (), (HOSES,)),
    )  # fmt: skip
    found = at_their_hour(made.todo.problem, cards, NOTES)
    assert [[o.title for o in c.makes] for c in found] == [
        [], [], ["air box on: nothing left inside"], []
    ]  # fmt: skip
    asked_by_none = at_their_hour(made.todo.problem, cards[:3], NOTES)
    assert [o.record for o in asked_by_none[2].makes] == ["hoses"]


def test_every_check_that_the_library_gives_an_hour_is_one_of_the_rooms():
    registry = open_build(Path(__file__).parents[2] / "examples" / "plover").registry
    for outline in outlines():
        components = load(outline).components
        said = {r for table in components.values() for r in table.records}
        said |= {r for t in components.values() if t.aside is not None for r in t.aside.records}
        assert {"corners.seat_and_ring_seen", "brakes.fastened", "ride.bar_links_set",
                "breathing.intake_clamps"} == said  # fmt: skip
        assert said <= registry.records.keys()
        assert components["calipers_front"].aside.records == ("brakes.fastened",)
