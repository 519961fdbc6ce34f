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
from drybuild.work.at_its_hour import HANGING, at_their_hour, counted, letting_down, placed
from drybuild.work.model import Step

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
    assert [o.title for o in found[day[2]].makes] == [HANGING + "wheel turned"]
    assert not found[day[1]].makes
    assert found[day[0]].records == (TURNED,)
    given[day[1]] = replace(given[day[1]], records=(TURNED,))
    assert at_their_hour(problem, given)[day[2]].makes == found[day[2]].makes  # once
    given[day[2]] = replace(given[day[2]], makes=(TURNED,))
    assert at_their_hour(problem, given)[day[2]].makes == (TURNED,)  # its own work makes it


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
    assert hanging == {"corners.turned_by_hand", "brakes.hose_free"}
