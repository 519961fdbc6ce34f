"""No plan, in words: each reason once, with what would cure it."""

from __future__ import annotations

import re

import pytest
import saturdays as sat

from drybuild.examine.schemas import schemas
from drybuild.show.no_plan import WRITTEN, Cure, first_cures, no_plan_text, room_text, ways_out
from drybuild.web.planning_process import _first_where
from drybuild.work.model import Clause, NoPlan, Relaxation, ToMeasure
from drybuild.work.papers import LookUp

CORNERS = ("front.left", "front.right", "rear.left", "rear.right")
MEASURE = ToMeasure(
    "corner.front.left.tyre_pressure", "corner.front.left.tyre_pressure", "tyre gauge", "", 4,
    True, 2,
)  # fmt: skip


def _stops(check: str, title: str, waits_for="", places: tuple[str, ...] = CORNERS):
    return tuple(
        Clause(
            "drive", frozenset(), frozenset(), f"{p.replace('.', ' ')}: {title}", check, p,
            waits_for,
        )
        for p in places
    )  # fmt: skip


def _said(*clauses: Clause, **more) -> NoPlan:
    hopeless = tuple(
        Relaxation("fix", f"{c.check} {c.subject}", f"cure it first: {c.why}")
        for c in clauses if not c.waits_for
    )  # fmt: skip
    return NoPlan(("no plan meets every need",), hopeless, clauses, **more)


def test_what_stops_at_several_corners_is_said_once() -> None:
    said = _said(
        *_stops("a.gap", "the tyre meets the arch"),
        *_stops("a.load", "the tyre carries too little", places=CORNERS[2:]),
    )
    assert [cure.words for cure in first_cures(said)] == [
        "cure: all four corners: the tyre meets the arch",
        "cure: rear, both sides: the tyre carries too little",
    ]
    text = no_plan_text(said, sat.problem(), folder="car", name="Car")
    assert text.count("the tyre meets the arch") == 1
    assert "in your order" not in text
    assert "drybuild fix car a.gap front.left" in text


def test_what_a_reading_may_settle_is_measured_not_cured() -> None:
    said = _said(*_stops("a.gap", "too close to call", "narrowing"), measure=(MEASURE,))
    (cure,) = first_cures(said)
    assert cure.words == (
        "measure front tyre pressure (tyre gauge, 4 min, both sides): 2 checks wait for it"
    )
    assert _first_where(cure) == "/measure/at/corner.front.left.tyre_pressure"
    text = no_plan_text(said, sat.problem(), folder="car", name="Car")
    assert "1 check waits for a reading" in text
    assert "cure" not in text
    assert "too close to call" not in text


def test_what_stops_the_finished_car_leads_to_its_cure() -> None:
    way = Relaxation("time", "sat-1", "an hour more", why="the brakes take it")
    said = NoPlan(
        ("no plan meets every need",), (way,), still=_stops("a.link", "the link is too short")
    )
    (cure,) = first_cures(said)
    assert cure.words == (
        "cure, or drive is stopped when all is done: all four corners: the link is too short"
    )
    assert _first_where(cure) == "/workings/a.link/front.left?state=finished"
    text = no_plan_text(said, sat.problem(), folder="car", name="Car")
    assert "With that cured, this makes room for a plan" in text
    assert "\n   1  an hour more\n      the brakes take it\n" in text
    assert "drybuild fix car a.link front.left" in text


def test_what_is_done_the_same_way_is_headed_once_and_reasons_stand_by_themselves() -> None:
    two = "after Saturday drive is stopped: brakes open; after Sunday drive is stopped: front up"
    ways = (
        Relaxation("need", "drive@sat-1", "do without drive after Saturday", why=two),
        Relaxation("session", "another-1", "a work session after Sunday"),
    )
    still = (*_stops("a.link", "the link is short"), *_stops("a.arm", "the arm is short"))
    said = NoPlan(("cannot be kept: drive on Monday; front up",), ways, still=still)
    text = no_plan_text(said, sat.problem(), folder="car", name="Car")
    assert text.count("drive is stopped when all is done") == 1
    head = "  cure, or drive is stopped when all is done:\n"
    assert f"{head}    all four corners: the link is short  [a.link]\n" in text
    below = "\n      after Saturday drive is stopped: brakes open\n"
    assert f"\n   1  do without drive after Saturday{below}      after Sunday" in text


def test_a_reason_that_is_the_cause_is_not_said_again_below_a_way_out() -> None:
    why = "after Sunday drive is stopped: front up"
    way = Relaxation("need", "drive@sat-1", "do without drive after Sunday", why=why)
    said = NoPlan((f"cannot be kept: drive on Monday 7 December; {why}",), (way,))
    text = " ".join(no_plan_text(said, sat.problem(), folder="car", name="Car").split())
    assert text.count(why) == 1


def test_a_recalled_limit_wants_its_rule_read() -> None:
    why = "speed symbol: the limit is recalled, not read: read the rule itself"
    said = _said(*_stops("law.speed", why, "reading the rule"))
    assert first_cures(said) == [
        Cure(
            "all four corners: speed symbol", "law.speed", "front.left", head="read the rule"
        )
    ]


@pytest.mark.parametrize("at_least", [False, True])
def test_that_more_may_be_wanted_is_said_once(at_least: bool) -> None:
    ways = tuple(Relaxation("time", f"sat-{n}", "an hour more", at_least) for n in (1, 2))
    said = NoPlan(("no plan meets every need",), ways)
    assert ways_out(said) == [*ways]
    assert room_text(ways, said).count("was not shown to be") == at_least
    text = " ".join(no_plan_text(said, sat.problem(), folder="car", name="Car").split())
    assert text.count("not shown to be") == at_least


def test_what_was_shown_to_be_enough_stands_first_and_the_rest_says_that_it_was_not() -> None:
    ways = (
        Relaxation("time", "sat-1", "an hour more", True),
        Relaxation("session", "another-1", "one more Saturday"),
    )
    said = NoPlan(("no plan meets every need",), ways)
    assert [one.kind for one in ways_out(said)] == ["session", "time"]
    assert room_text(ways_out(said), said).startswith("The first makes room for a plan")
    text = no_plan_text(said, sat.problem(), folder="car", name="Car")
    assert text.count("not shown to be enough: no plan was found with it") == 1
    assert text.index("one more Saturday") < text.index("an hour more") < text.index("not shown")


def test_a_guess_is_looked_up_before_anything_is_bought() -> None:
    guess = LookUp(
        "feed line against the pump", "pump.relief_pressure", "part.pump_a.relief_pressure", 0.8,
        "Pump A",
    )  # fmt: skip
    said = NoPlan(
        ("no plan meets every need",), (), look_up=(guess,),
        still=_stops("fuel.feed", "the line is too weak", places=("car",)),
    )  # fmt: skip
    papers, cure = first_cures(said)
    assert papers.words.startswith("look up before anything is bought: ")
    assert "relief pressure" in papers.words
    assert "80 % of the doubt is this guess" in papers.words
    assert _first_where(papers) == "/measure/at/part.pump_a.relief_pressure"
    assert cure.wants_fix


def test_what_is_wanted_beside_a_cure_says_so() -> None:
    (way,) = ways = (Relaxation("time", "sat-1", "an hour more"),)
    said = NoPlan(("no plan meets every need",), ways, _stops("a.gap", "they meet"), cured=True)
    assert room_text((way,), said).startswith("With that cured, this makes room")


@pytest.mark.parametrize(
    ("kinds", "at_least", "head"),
    [
        (("time",), False, "This makes room for a plan"),
        (("time", "need"), False, "Any one of these makes room for a plan"),
        (("session",), True, "This may be enough, and was not shown to be: with it the work "),
        (("session", "tool"), True,
         "Each of these may be enough, and was not shown to be: with any one of them the "),
    ],
)
def test_how_much_is_enough_and_where_it_is_written(kinds, at_least, head) -> None:
    ways = tuple(Relaxation(kind, kind, f"this {kind}", at_least) for kind in kinds)
    said = NoPlan(("no plan meets every need",), ways)
    lines = no_plan_text(said, sat.problem(), folder="car", name="Car").splitlines()
    assert any(line.startswith(head) for line in lines)
    (where,) = [line for line in lines if line.startswith("written in car/build.toml under ")]
    for kind in kinds:
        assert WRITTEN[kind] in where
    assert "drybuild serve car" in where
    bare = NoPlan(("no plan meets every need",), (Relaxation("fix", "a", "cure this: a"),))
    assert "written in" not in no_plan_text(bare, sat.problem(), folder="car", name="Car")


def test_the_tables_that_are_named_are_those_of_the_build() -> None:
    known = schemas()["build"]["properties"]
    for table in WRITTEN.values():
        assert re.match(r"\[\[(\w+)\]\]", table)[1] in known


def test_a_search_that_ran_out_of_time_does_not_say_that_there_is_no_plan() -> None:
    out = NoPlan(("no plan was found in the time given",), (), open=True)
    text = no_plan_text(out, sat.problem(), folder="car", name="Car")
    assert text.startswith("Car · no plan was found yet; there may be one")
    assert "no plan meets every need" not in text
