"""Cards as text: words of a plan."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import making_todo as making
import pytest
import saturdays as sat

from drybuild.show.cards_text import (
    card_text,
    cards_text,
    item_text,
    off_lines,
    sheet_text,
    shopping_text,
    tags_text,
    task_more,
)
from drybuild.show.cards_words import (
    HOLDS,
    amount_text,
    by_hand_text,
    cards_text_of,
    day_text,
    hands_due,
    hands_text,
    holds_shown,
    lift_text,
    lifted_by,
    may_lines,
    money_text,
    need_line,
    need_text,
    price_text,
    quantity_text,
)
from drybuild.show.holds_joined import causes, split
from drybuild.show.hours import NO_BREAKS, hours_text
from drybuild.show.work_list import brief
from drybuild.show.work_sheet import sheet_svg
from drybuild.work.cards import _task, number_of
from drybuild.work.checker import faults
from drybuild.work.model import Aim, Notes
from drybuild.work.standing import Standing, Stop

ROOT = Path(__file__).parents[2]

MADE = making.MADE


@pytest.fixture(scope="module")
def found():
    return making.made_sheets()


@pytest.fixture(scope="module")
def everything(found):
    """Every word that is printed, as text."""
    said = [cards_text(found), tags_text(found), shopping_text(found)]
    said += [sheet_text(found, session) for session in found.ends]
    return "\n".join(said)


# Words


@pytest.mark.parametrize(
    ("hours", "said"),
    [(0.25, "15 min"), (1.0, "1 h"), (2.75, "2 h 45"), (1.05, "1 h 03"), (0.999, "1 h")],
)
def test_hours_as_one_says_them(hours, said):
    assert hours_text(hours) == said


def test_days_quantities_and_money():
    assert day_text(datetime(2026, 12, 5)) == "Sat 5 Dec 2026"
    assert day_text(datetime(2027, 3, 1)) == "Mon 1 Mar 2027"
    assert (quantity_text(1.5, "L"), quantity_text(4.0, "")) == ("1.5 L", "4")
    assert quantity_text(0.1 + 0.2, "L") == "0.3 L"
    assert amount_text(4, "", "hose clamp") == "4 × hose clamp"
    assert amount_text(0.5, "L", "brake fluid") == "0.5 L brake fluid"
    assert money_text(1460.0, "AUD") == "1 460 AUD"
    assert money_text(12.8, "AUD") == "12.80 AUD"


def test_what_it_may_do_is_never_a_bare_permission(found):
    free = Standing(0, (), (), (), ())
    for _, said in may_lines(free, ()):
        assert said.startswith("nothing recorded stops it; ")
        assert "by hand" in said
    for car in found.ends.values():
        for _, said in may_lines(car, found.cards):
            assert said.startswith("stopped: ") or "by hand" in said


@pytest.mark.parametrize(
    ("owed", "counted_on", "said"),
    [
        (0, 0, "no hand check is owed; look it over by hand all the same"),
        (1, 0, "by hand first: 1 check"),
        (2, 13, "by hand first: 15 checks, 13 of them on the cards"),
        (0, 1, "by hand first: 1 check, on a card"),
        (0, 3, "by hand first: 3 checks, all on the cards"),
    ],
)
def test_records_that_are_owed_and_that_the_plan_counts_on(owed, counted_on, said):
    assert by_hand_text(owed, counted_on) == said


def test_a_use_that_only_its_prerequisites_stop_says_so():
    car = Standing(0, (), (), (), (Stop(("run",), "off", "rail off", "rail on"),))
    free, stopped, through = may_lines(car, ())
    assert free[0] == "move, turn over"
    assert free[1].startswith("the car is apart (rail off): nothing recorded stops it")
    assert stopped == ("run", "stopped: rail off (rail on)")
    assert through == ("creep, drive, full load, compete", "stopped: needs run first")


def test_what_holds_for_every_use_is_said_once():
    (line,) = may_lines(Standing(0, (), (), (), ()), ())
    assert line[0] == "every use"


def test_holds_on_a_card_begin_with_what_one_does_in_the_garage():
    stops = tuple(
        Stop((use,), "check", f"{use} {n}", "do it")
        for use in ("compete", "drive", "move", "run") for n in range(3)
    )  # fmt: skip
    shown, more = holds_shown(Standing(0, (), (), (), stops))
    assert [s.uses[0] for s in shown] == ["move", "move", "move", "run", "run"]
    assert (len(shown), more) == (HOLDS, 7)
    # one more than fits is shown, not counted
    shown, more = holds_shown(Standing(0, (), (), (), stops[: HOLDS + 1]))
    assert (len(shown), more) == (HOLDS + 1, 0)


def test_what_lifts_is_a_card_by_number(found):
    stops = {s.what: s for s in found.ends["sat-1"].stops}
    number = next(c.number for c in found.cards if c.title == "first map flashed")
    said = lift_text(stops["calibration.injector_flow"], found.cards)
    assert said == f"card {number}: first map flashed"
    assert lift_text(stops["sealant"], found.cards) == "passes by itself by Sat 5 Dec 23:30"
    assert lift_text(stops["fuel_rail"], found.cards).endswith(": fuel rail on")
    assert "putty" in lift_text(stops["corners.caliper_barrel_gap"], found.cards)


def test_what_lifts_the_reasons_that_are_counted_is_said_once_and_a_few():
    lifts = ("weigh it", "read off a; read off b", "read off b; read off a; look up c",
             "look up d", "look up e")  # fmt: skip
    stops = tuple(Stop(("run",), "check", f"why {n}", lift) for n, lift in enumerate(lifts))
    car = Standing(0, (), (), (), stops)
    said = lifted_by(car, stops[:1], ())
    assert said == "read off a; read off b; look up c; and 2 more: drybuild check"
    assert lifted_by(car, stops[:2], ()) == "look up c; look up d; look up e"
    alike = (stops[0], Stop(("run",), "check", "why 9", "weigh it"))
    assert lifted_by(Standing(0, (), (), (), alike), alike[:1], ()) == "the same lifts them"
    later = (stops[0], Stop(("run",), "check", "w", "read off a first; if it stays open: buy b; c"))
    assert lifted_by(Standing(0, (), (), (), later), later[:1], ()) == "read off a"


def test_a_use_wanted_says_by_when(found):
    problem = found.todo.problem
    assert need_text(problem, problem.needs[0]) == "wanted by Mon 7 Dec 07:00: move"


def test_a_use_wanted_says_whether_the_plan_keeps_it(found):
    need = found.todo.problem.needs[0]
    until = found.todo.problem.at(need.until)

    def said(*stops, supposed=()):
        car = replace(found.ends[need.session], stops=stops)
        ends = {**found.ends, need.session: car}
        plan = replace(found.plan, supposed=tuple(SimpleNamespace(check=s) for s in supposed))
        return need_line(replace(found, ends=ends, plan=plan), need).partition(": move, ")[2]

    def check(what):
        return Stop(("move",), "check", "why", "lift", what=what)

    assert said() == "kept as planned"
    assert said(Stop(("move",), "off", "off", "on", passes=until)) == "kept as planned"
    assert said(Stop(("move",), "off", "wheels off", "on")) == "not kept"
    open_ = "kept only if 2 checks that nobody can answer yet come out well"
    assert said(check("a"), check("b"), check("b"), supposed=("a", "b")) == open_
    assert said(check("a"), check("b"), supposed=("a",)) == "not kept"
    one = "kept only if a check that nobody can answer yet comes out well"
    assert said(check("a"), supposed=("a", "c")) == one


def test_the_list_and_the_sheet_count_the_same_hand_checks(found):
    """Two faces of one session said 1 record of it and 2: the last use of each is counted alike."""
    for car in found.ends.values():
        lines = may_lines(car, found.cards)
        sheet = {use: said for names, said in lines for use in names.split(", ")}
        for line in brief(car, found.cards):
            if not line.stopped:
                for use in line.uses.split(", "):
                    assert sheet.get(use, sheet.get("every use")) == line.said


def test_hand_checks_wait_for_the_session_after_which_their_use_is_wanted(found):
    due = {name: {o.record for o in owed} for name, owed in hands_due(found).items()}
    springs = next(c for c in found.cards if c.title == "front springs and dampers")
    assert due["sat-1"]
    for owed in found.ends["sat-1"].owed:  # only move is wanted after the first Saturday
        assert (owed.record in due["sat-1"]) == ("move" in owed.stops)
    made = {o.record for c in found.cards for o in c.records}
    written = {o.record for c in found.cards for o in c.makes}
    assert {o.record for o in springs.records} <= made
    assert made - written == set().union(*due.values())  # none is lost
    assert sum(map(len, due.values())) == len(made - written)  # and none is asked for twice


# Text


def test_no_word_gives_leave(everything):
    for word in (r"\bsafe\b", r"\bpassed\b", r"\bOK\b", r"\bgood to go\b", r"\ballowed\b", "!"):
        assert not re.search(word, everything, re.IGNORECASE), word


def test_a_card_says_all_that_it_holds(found):
    for card in found.cards:
        said = card_text(card, found)
        flat = " ".join(said.replace("[ ]", "").split())
        wanted = [card.title, *card.cautions, *card.bench, *card.photograph, *card.bag]
        wanted += [*card.verify, *(o.title for o in card.records)]
        # reasons with the same first words are one tag
        wanted += [part.strip() for line in card.tags for part in line.split(":", 1)]
        wanted += [step for task in card.tasks for step in task.steps]
        for words in wanted:
            assert " ".join(words.split()) in flat, words
        assert max(map(len, said.splitlines())) <= 100


def test_a_figure_that_nobody_stated_is_looked_up(found):
    springs = next(c for c in found.cards if c.title == "front springs and dampers")
    said = card_text(springs, found)
    assert "front damper bolts: LOOK UP" in said
    assert "N·m" not in said
    joint = replace(
        springs.joints[0], torque=85.0, document="Tolland sheet 12", condition="dry", one_time=True
    )
    said = card_text(replace(springs, joints=(joint,)), found)
    assert "85 N·m, threads dry (Tolland sheet 12); one-time: new ones go in" in said
    untraced = replace(joint, document=None)
    assert "LOOK UP" in card_text(replace(springs, joints=(untraced,)), found)


def test_cards_of_one_session_or_by_number(found):
    of_second = cards_text(found, session="sat-2")
    assert "first map flashed" in of_second
    assert "larger front brakes\n" not in of_second
    assert re.findall(r"^CARD (\d+) of", cards_text(found, numbers=(2, 4)), re.M) == ["2", "4"]


def test_each_page_of_text_names_build_state_date_and_fingerprints(found):
    for said in (
        cards_text(found), tags_text(found), shopping_text(found), sheet_text(found, "sat-1"),
    ):  # fmt: skip
        foot = said[-260:]
        assert "Fennick Plover 1.8T · planned from the car as found" in foot
        assert "printed Sat 28 Nov 2026 09:30" in foot
        assert found.imprint.files[:4] in foot
        assert f"journal {found.imprint.journal}" in foot


def test_the_sheet_names_the_others_to_each(found):
    said = sheet_text(found, "sat-1")
    ilse, marten = said.split("  Marten (")
    assert "raise the car · 30 min · with Marten" in ilse
    assert "raise the car · 30 min · with Ilse" in marten
    assert "wanted by Mon 7 Dec 07:00: move" in said
    assert off_lines(found, "sat-1") == [
        "  off, in the order in which it came off", "     1  fuel rail off",
        "  left so: sealant curing; fuel system opened; wheels to be tightened again",
    ]  # fmt: skip
    assert off_lines(found, "sat-3")[0] == "  nothing is off"


def test_the_list_says_what_comes_too_late(found):
    item = next(i for i in found.shopping.items if i.what == "tolland_disc_310")
    late = replace(item, lots=(replace(item.lots[0], arrives=datetime(2026, 12, 9)),))
    shopping = replace(found.shopping, items=(late,))
    said = " ".join(shopping_text(replace(found, shopping=shopping)).split())
    assert "said to come Wed 9 Dec: TOO LATE · 310 AUD each" in said
    of_a_set = replace(item, price_text="64 AUD the set")
    assert price_text(of_a_set, "AUD") == "64 AUD the set of 2"
    assert price_text(replace(of_a_set, price=128.0), "AUD") == "128 AUD"


def test_lots_of_one_day_are_one_amount(found):
    item = next(i for i in found.shopping.items if i.what == "tolland_disc_310")
    one = replace(item.lots[0], quantity=1.0)
    assert " by " not in item_text(replace(item, lots=(one, one)), found)
    later = replace(one, by=datetime(2027, 1, 9, 9))
    assert "1 by Fri 8 Jan" in item_text(replace(item, lots=(one, later)), found)


def test_reasons_that_a_card_has_no_room_for_name_the_cards_that_lift_them(found):
    """A command cannot be typed under the car."""
    stop = found.cards[0].standing.stops[0]
    last = found.cards[-1]
    stops = tuple(
        replace(
            stop, kind="check", what=f"part {n}", uses=("drive",), why=f"why {n}", lift=f"do {n}",
            by=last.steps[0] if n > 6 else None,
        ) for n in range(9)
    )  # fmt: skip
    card = replace(found.cards[0], standing=replace(found.cards[0].standing, stops=stops))
    said = " ".join(card_text(card, found).split())
    assert f"and 4 more reasons: card {last.number}; do 5; do 6" in said
    assert "drybuild check" not in said


def test_reasons_of_one_cause_are_one_line(found):
    by_card = {c.number: s for c in found.cards for s in c.steps if s.kind == "refit"}
    refits = list(by_card.values())[:2]
    last = found.cards[-1].steps[0]
    off = [Stop(("move", "drive"), "off", f"part {n} off", "", by=by) for n, by in
           enumerate(refits)]  # fmt: skip
    lifted = [Stop(("drive",), "pending", f"{n} owed", "do it", by=last) for n in "ab"]
    gap = [Stop(("drive",), "check", "gap", "putty", subjects=(f"front.{side}",), what="gap")
           for side in ("left", "right")]  # fmt: skip
    said = causes([*off, *lifted, *gap], found.cards)
    numbers = sorted({number_of(found.cards, step) for step in refits})
    assert [(one.uses, one.why, len(one.stops)) for one in said] == [
        ("move", "part 0 off; part 1 off", 2), ("drive", "a owed; b owed", 2),
        ("drive", "front, both sides: gap", 2),
    ]  # fmt: skip
    assert len(numbers) > 1
    assert said[0].lift == cards_text_of(numbers)
    assert said[1].lift.startswith(f"card {found.cards[-1].number}: ")
    assert said[2].lift == "putty"
    # nothing of them is lost where a line has no room
    shown, more = split(said, 1)
    assert (len(shown), more) == (1, 4)
    assert split(said, 2) == (said, 0)
    many = causes([replace(off[0], why=f"part {n}") for n in range(9)], found.cards)
    assert many[0].why.endswith("part 3; 5 more")


def test_hands_of_a_card(found):
    card = found.cards[0]
    assert hands_text(card) == "Ilse and Marten"
    assert hands_text(replace(card, who=())) == "nobody needed"
    assert hands_text(replace(card, who=(), outside=True)) == "outside work"


def test_a_session_without_a_break_says_so(found):
    made = sat.problem(
        jobs=[sat.job(name, sat.fixed(6)) for name in ("arms", "hoses")],
        sessions=[sat.saturday(1, people=("Ilse",), hours=12)],
    )
    plan = sat.plan(made, ("job:arms", "sat-1", 0, "Ilse"), ("job:hoses", "sat-1", 6, "Ilse"))
    plan = replace(plan, aims=(Aim("hours", 12, 12, "h"), Aim("finish", 1, 1, "session")))
    assert not faults(made, plan)  # the planner takes twelve hours in one stretch
    assert sheet_text(found, "sat-1").splitlines()[0].endswith(NO_BREAKS)
    assert NO_BREAKS in sheet_svg(found, "sat-1")


def test_who_is_at_work_already_when_the_rest_of_a_day_is_planned_is_there_from_then(found):
    """Planned again at noon, people are free from when they end what they have in hand."""
    problem = found.todo.problem
    day = problem.session("sat-1")
    late = tuple(replace(one, start=one.start + 16) for one in day.people)
    sessions = tuple(replace(s, people=late) if s is day else s for s in problem.sessions)
    todo = replace(found.todo, problem=replace(problem, sessions=sessions))
    later = replace(found, todo=todo)
    name = next(step.who[0] for step in found.plan.of("sat-1") if step.who)
    text = sheet_text(later, "sat-1")
    head = text[text.index(f"  {name} (") :]
    since, first = re.findall(r"\b\d\d:\d\d\b", head)[0:3:2]
    assert since == first
    assert f"{since} to " in sheet_svg(later, "sat-1") or since == "09:00"


def test_what_waits_beyond_the_session_says_that_somebody_comes_back(found):
    task = replace(found.cards[0].tasks[0], wait=1.0)
    beyond = replace(task, over=task.end + timedelta(hours=task.wait))
    said = task_more(beyond)
    assert f"that need nobody, to {beyond.over:%H:%M}, after the session: whoever" in said
    assert "before the car is used again" in said
    assert task_more(replace(task, over=None)).endswith("that need nobody")


def test_a_wait_is_beyond_the_session_where_it_ends_after_it():
    problem = sat.problem(jobs=[sat.job("run", sat.fixed(1), wait=1.0)])
    for at, over in ((6.0, None), (6.5, datetime(2026, 12, 5, 17, 30))):
        plan = sat.plan(problem, ("job:run", "sat-1", at, "Ilse"))
        assert _task(sat.todo(problem), plan, plan.steps[0], Notes("run warm")).over == over
