"""The card of an alignment says what to set, wheel by wheel, and has room for before and after."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from types import SimpleNamespace

import jsonschema
import making_todo as making
import pytest
import saturdays as sat

from drybuild.build import Change
from drybuild.build.new import make_build
from drybuild.examine.opened import open_build
from drybuild.examine.setting_sheet import setting_sheet
from drybuild.show.alignment import sheet_text as alignment_sheet
from drybuild.show.cards_text import card_text, sheet_text
from drybuild.show.cards_words import short_day
from drybuild.show.to_set import aim_text, axle_lines, set_lines, source_text
from drybuild.work.as_json_cards import cards_json
from drybuild.work.schemas import answers_schema
from drybuild.work.sheets import sheets
from drybuild.work.to_set import SHEET, aligns, as_set, set_before, to_set


@pytest.fixture(scope="module")
def papers(opened, lessons):
    """The plan with an alignment at a shop that makes the record, as the library's does."""
    todo = making.todo()
    shop = replace(todo.problem.jobs["alignment"], changes=(Change("verify", SHEET),))
    jobs = {**todo.problem.jobs, "alignment": shop}
    todo = replace(todo, problem=replace(todo.problem, jobs=jobs))
    return sheets(opened, todo, making.plan(), lessons=lessons)


@pytest.fixture(scope="module")
def aligning(papers):
    (card,) = [card for card in papers.cards if card.to_set]
    return card


def test_only_work_that_makes_the_sheet_is_an_alignment():
    assert aligns([Change("verify", SHEET)])
    assert not aligns([Change("verify", "ride.headlamps_aimed"), Change("fit", "arm.rear", "x")])


def test_every_wheel_has_its_camber_and_toe_with_the_owners_aim(aligning):
    assert "alignment" in aligning.title
    wheels = {(one.corner, one.angle) for one in aligning.to_set}
    corners = ("front.left", "front.right", "rear.left", "rear.right")
    assert wheels == {(corner, angle) for corner in corners for angle in ("camber", "toe")}
    lines = set_lines(aligning)
    assert lines[0].startswith("front left camber: −1.5 deg · before ______ after ______")
    assert "the parts leave about" in lines[0]
    assert any(line.startswith("rear right toe: 0.12 deg (7 min in; ") for line in lines)
    assert lines[-1].startswith("aims as build.toml states them under [goal]")
    assert "drybuild alignment" in lines[-1]


def test_what_an_alignment_before_it_sets_is_not_found_as_the_parts_leave_it(aligning):
    """Unless work between them has upset it."""
    problem = sat.problem(
        jobs=[
            replace(sat.job("strings", sat.fixed(1)), changes=(Change("verify", SHEET),)),
            sat.job("arms", sat.fixed(1), causes=("alignment",)),
        ],
        effects=[replace(sat.clearing("alignment", sat.fixed(1)), clearing=replace(
            sat.clearing("alignment", sat.fixed(1)).clearing, changes=(Change("verify", SHEET),)
        ))],
    )  # fmt: skip
    arms, strings = ("job:arms", "sat-1", 0, "Ilse"), ("job:strings", "sat-1", 1, "Ilse")
    plan = sat.plan(problem, arms, strings)
    on = set_before(problem, plan.steps)
    assert on == problem.at(max(step.end for step in plan.steps))
    again = ("job:arms", "sat-1", 2, "Ilse")
    assert set_before(problem, sat.plan(problem, arms, strings, again).steps) is None
    assert set_before(problem, sat.plan(problem, arms).steps) is None
    (line, *_) = set_lines(replace(aligning, to_set=as_set(aligning.to_set, on)))
    assert "the parts leave" not in line
    assert f"set to it on {short_day(on)}: what differs has moved since" in line
    assert as_set(aligning.to_set, None) == aligning.to_set
    fixed = replace(aligning.to_set[0], fixed=True)
    assert as_set([fixed], on) == (fixed,)


def test_the_card_and_the_days_sheet_carry_them(papers, aligning):
    assert "  set to      front left camber: −1.5 deg" in card_text(aligning, papers)
    day = " ".join(sheet_text(papers, aligning.session).split())
    assert f"card {aligning.number}, set rear: camber −1.9 deg; toe 0.12 deg" in day


def test_the_json_of_the_card_has_the_same_figures_in_rad(papers, aligning):
    data = json.loads(json.dumps(cards_json(papers, build="x", version="0"), allow_nan=False))
    jsonschema.validate(data, answers_schema())
    (card,) = [card for card in data["cards"] if card["to_set"]]
    first, shown = card["to_set"][0], aligning.to_set[0]
    assert (first["corner"], first["angle"], first["file"]) == (
        "front.left", "camber", "build.toml",
    )  # fmt: skip
    assert first["aim"] == pytest.approx(math.radians(-1.5))
    assert first["parts_leave"]["median"] == pytest.approx(shown.parts.median)
    assert len(card["to_set"]) == len(aligning.to_set)


def test_how_near_it_is_wanted_is_said_and_what_nobody_wants_is_looked_up(opened):
    wanted = opened.draft("wanted", [Change("set", "goal.caster_front", "5 deg")])
    found = to_set(opened.examine(wanted, draws=64))
    assert {one.corner for one in found if one.angle == "caster"} == {"front.left", "front.right"}
    one = found[0]
    assert aim_text(replace(one, within=0.00175)) == "−1.5 deg, to within 0.1 deg"
    assert aim_text(replace(one, aim=None)) == "LOOK UP (no goal.camber_front)"


def test_sides_that_are_wanted_apart_are_named_apart(aligning):
    rows = [replace(one, aim=-0.02) if one.corner == "front.left" and one.angle == "camber" else one
            for one in aligning.to_set]  # fmt: skip
    lines = axle_lines([replace(aligning, to_set=tuple(rows))])
    assert any("set front left: camber −1.15 deg" in line for line in lines)
    assert any("set front right: camber −1.5 deg" in line for line in lines)
    assert any("set front: toe" in line for line in lines)


def test_what_nothing_sets_is_looked_at_and_not_set(tmp_path):
    made = make_build(
        tmp_path / "hatch", nearest="front-turbo-hatch", driving="yes", first_change="lower it"
    )  # struts in front, a twist beam behind
    found = to_set(open_build(made).examine())
    rear = [one for one in found if one.corner.startswith("rear")]
    assert {one.angle for one in rear} == {"camber", "toe"}
    assert all(one.fixed for one in rear)
    assert [one.fixed for one in found] == sorted(one.fixed for one in found)
    front = {one.angle: one for one in found if one.corner == "front.left"}
    assert not front["toe"].fixed
    assert aim_text(rear[0]) == "nothing sets it here: LOOK UP (−1.4 deg, a starter's guess)"
    said = axle_lines([SimpleNamespace(number=35, to_set=found)])
    assert any(line.startswith("card 35, set front: toe ") for line in said)
    assert any(line.startswith("card 35, look at rear: camber ") for line in said)
    assert not any(line.startswith("card 35, set rear") for line in said)
    text = (made / "car.toml").read_text(encoding="utf-8")
    beam = "0 to 0.01 deg"
    assert beam in text
    (made / "car.toml").write_text(text.replace(beam, "1 deg"), encoding="utf-8")
    with_rods = to_set(open_build(made).examine())
    assert not any(one.fixed for one in with_rods if one.angle == "toe")


def test_an_aim_that_nobody_stated_is_no_figure_to_set_to(tmp_path):
    """As found by a starter's guess it is looked up; once that is read, it is as found; an owner's
    own figure is the aim."""
    made = make_build(tmp_path / "car", nearest="rear-turbo-coupe", first_change="lower it")

    def front(angle):
        examination = open_build(made).examine(draws=64)
        found = to_set(examination)
        row = next(r for r in setting_sheet(examination).rows
                   if (r.corner, r.angle) == ("front.left", angle))  # fmt: skip
        one = next(x for x in found if (x.corner, x.angle) == ("front.left", angle))
        assert (row.fixed, row.aim_is) == (one.fixed, one.aim_is)
        return one

    assert front("toe").aim_is == "guess"
    assert aim_text(front("toe")).startswith("LOOK UP (")
    assert "nobody has stated an aim" in source_text([front("toe")])
    journal = open_build(made).journal
    journal.note("corner.front.left.toe", "0.1 deg", who="Ilse")
    assert front("toe").aim_is == "found"
    assert "0.1 deg" in aim_text(front("toe"))
    assert ", as found" in aim_text(front("toe"))
    text = (made / "build.toml").read_text(encoding="utf-8")
    own = re.sub(r"(?m)^toe_front = .*$", 'toe_front = "0.05 deg"', text)
    assert own != text
    (made / "build.toml").write_text(own, encoding="utf-8")
    assert front("toe").aim_is == "stated"
    assert source_text([front("toe")]) == "aims as build.toml states them under [goal]"


def test_the_sheet_says_of_a_fixed_angle_what_the_card_says(tmp_path):
    made = make_build(tmp_path / "car", nearest="rear-turbo-coupe", first_change="lower it")
    examination = open_build(made).examine(draws=64)
    text = alignment_sheet(setting_sheet(examination))
    front = text[text.index("front left") :].partition("front right")[0]
    camber, _, toe = front.partition("  toe ")
    one = next(x for x in to_set(examination) if (x.corner, x.angle) == ("front.left", "camber"))
    assert one.fixed
    for said in (aim_text(one), " ".join(camber.split())):
        assert "nothing sets it here" in said
    assert "adjusters" not in camber
    assert "left to set" not in camber
    assert "nothing sets it here" not in toe
