"""Findings in words: figures in one unit, places together, no bare code names."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

import drybuild
from drybuild.build import Change
from drybuild.examine import Hold, Measurement
from drybuild.examine.catalogue import Figure, Moves
from drybuild.examine.catalogue.moved import Turned, _as_much
from drybuild.examine.naming import plain_list, plain_name
from drybuild.examine.workings import Line, Step
from drybuild.examine.written import change_text, written_text
from drybuild.findings import CORNERS, Verdict
from drybuild.findings.finding import RESTS_ON_ASSUMED, Interval
from drybuild.findings.words import RangeNote
from drybuild.show import compare
from drybuild.show.answers import _step_lines, titles
from drybuild.show.lines import wrapped
from drybuild.show.sentences import (
    HOLDS_DOWN,
    JOINT_MEANS,
    NO_CHECK,
    SMALL_DOUBTS,
    Joint,
    chance_text,
    grouped,
    headline,
    hold_texts,
    joint_of,
    joint_text,
    joint_words,
    margin_text,
    measured_name,
    measurement_text,
    places,
    range_text,
    room_text,
    settled_text,
    stopping,
    told_first,
    wanted_text,
)
from drybuild.show.what_fits import MovedLine, moved_sentence
from drybuild.show.work_supposed import to_measure_text
from drybuild.values import HowKnown
from drybuild.work.model import ToMeasure

DEMO = Path(__file__).parents[2] / "examples" / "plover"


@pytest.fixture(scope="module")
def finished():
    return drybuild.open_build(DEMO).examine("finished", draws=512)


@pytest.fixture(scope="module")
def arch(finished):
    return finished.finding("corners.arch_bump_gap", "rear.left")


@pytest.mark.parametrize(
    ("address", "seen_from", "said"),
    [
        ("wheel.front.left.spoke_depth", "", "front left wheel spoke depth"),
        ("wheel.front.left.spoke_depth", "front.left", "wheel spoke depth"),
        ("wheel.front.left.spoke_depth", "rear.left", "front left wheel spoke depth"),
        ("axle.rear.load_limit", "", "rear axle load limit"),
        ("corner.rear.left.arch_point.gap", "", "rear left tyre's side to arch lip"),
        ("base:tyre.rear.left.section_width", "", "rear left tyre section width, as found"),
        ("blend.blend70.ethanol", "", "blend70 ethanol"),
        ("blend.blend70.ethanol", "blend70", "ethanol"),
        ("engine.displacement", "", "engine displacement"),
        ("car.wheelbase", "", "wheelbase"),
        ("goal.boost|map.boost_target", "", "boost or map boost target"),
    ],
)
def test_addresses_in_plain_words(address, seen_from, said):
    assert plain_name(address, seen_from=seen_from) == said


def test_a_list_says_each_once_and_counts_the_rest():
    same = ("wheel.front.left.offset", "wheel.front.left.offset", "car.wheelbase", "a.b", "c.d")
    assert plain_list(same) == "front left wheel offset, wheelbase, a b and 1 more"


@pytest.mark.parametrize(
    ("subjects", "said"),
    [
        (["car"], ""),
        (["rear.left"], "rear left"),
        (["rear.left", "rear.right"], "rear, both sides"),
        (["front.left", "front.right", "rear.left", "rear.right"], "all four corners"),
        (["front.left", "front.right", "rear.right"], "front, both sides; rear right"),
        (["front", "rear"], "front and rear"),
        (["e10", "blend70"], "e10, blend70"),
    ],
)
def test_places(subjects, said):
    assert places(subjects) == said


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (1.0, "enough every time"),
        (0.999, "enough nearly every time"),
        (0.974, "enough 97 in 100"),
        (0.001, "hardly ever enough"),
        (0.0, "never enough"),
    ],
)
def test_chances(chance, said):
    assert chance_text(chance) == said


def test_joint_chances_never_claim_the_ends():
    assert joint_text(0.9999) == "more than 99 in 100"
    assert joint_text(0.0001) == "less than 1 in 100"
    assert joint_text(0.0) == "0 in 100"
    assert joint_text(None) == "nothing to count"


def _car(arch, *verdicts, chance=0.999):
    """What joint_of reads of an examination."""
    findings = [
        replace(arch, verdict=v, margin=None if v is Verdict.UNMEASURED else arch.margin)
        for v in verdicts
    ]
    return SimpleNamespace(findings=findings, joint_chance=chance)


def test_a_joint_chance_says_how_much_is_not_in_it(arch):
    enough, unknown = Verdict.ENOUGH, Verdict.UNMEASURED
    assert joint_of(_car(arch, enough, enough)) == Joint("more than 99 in 100", NO_CHECK)
    most = joint_of(_car(arch, enough, Verdict.SHORT, unknown, chance=0.0))
    assert most == Joint("0 in 100 (1 of 3 unmeasured, not in it)", "1 short")
    few = joint_of(_car(arch, enough, unknown, unknown))
    assert few == Joint("not counted while 2 of 3 findings are unmeasured", "")
    assert joint_words(few) == (few.chance, "")
    said, means = joint_words(most, few, "as planned")
    assert said == f"{most.chance}; as planned {few.chance}"
    assert means == f"{JOINT_MEANS}; {HOLDS_DOWN}: 1 short"


def test_a_joint_chance_that_nothing_alone_holds_down_says_what_does():
    said, means = joint_words(Joint("93 in 100", NO_CHECK))
    assert said == "93 in 100"
    assert means == f"{JOINT_MEANS}; {SMALL_DOUBTS}"
    assert joint_words(Joint("100 in 100", NO_CHECK)) == ("100 in 100", JOINT_MEANS)
    said, means = joint_words(
        Joint("0 in 100", "1 short"), Joint("93 in 100", NO_CHECK), "with Loft Five",
        "with Alder Six",
    )  # fmt: skip
    assert said == "with Alder Six: 0 in 100; with Loft Five: 93 in 100"
    assert means.endswith(f"{HOLDS_DOWN}: with Alder Six: 1 short; with Loft Five: nothing")


def test_things_that_are_apart_by_less_than_is_wanted_are_not_said_to_meet(arch):
    def short(slack, wanted=0.003):
        margin = Interval(slack - wanted, slack - wanted - 5e-4, slack - wanted + 5e-4)
        there = Interval(slack, slack - 5e-4, slack + 5e-4)
        return arch.but(verdict=Verdict.SHORT, slack=there, margin=margin, gap_wanted=wanted)

    touching, apart = short(-0.0015), short(0.0015)
    assert headline(touching).endswith(arch.when_short)
    assert headline(apart) == f"rear left: {arch.title}, less than the gap that is wanted"


def test_a_margin_across_zero_is_said_in_one_unit_with_the_same_decimals(arch):
    across = Interval(8800.0, -976.0, 18800.0)
    power = replace(arch, kind="power", margin=across, slack=across, chance=0.96)
    said = room_text(power, "metric")
    assert said == "about 9 kW to spare: from 1 short to 19 to spare"
    gap = replace(arch, margin=Interval(-0.0007, -0.0019, 0.0004))
    assert room_text(gap, "metric") == "about 0.7 mm short: from 1.9 short to 0.4 to spare"


def test_an_end_without_bound_is_said_in_words(arch):
    wild = replace(arch, margin=Interval(0.0317, float("-inf"), 0.0493))
    said = room_text(wild, "metric")
    assert "from far short" in said
    assert "inf" not in said
    assert "unbounded" not in said


def test_a_margin_about_zero(arch):
    level = replace(arch, margin=Interval(0.0, -0.002, 0.002))
    assert room_text(level, "metric") == "just level: from 2 mm short to 2 to spare"


def test_margins_on_one_side(arch):
    short = replace(arch, margin=Interval(-0.0044, -0.0062, -0.0013), chance=0.0)
    assert margin_text(short, "metric") == "short by about 4.5 mm, 1.5 to 6.0; never enough"
    assert "in," in margin_text(short, "us")
    ratio = replace(arch, kind="ratio", margin=Interval(0.18, 0.16, 0.20))
    assert "18 %, 16 to 20" in room_text(ratio, "metric")


def test_more_than_the_whole_is_no_shortfall_but_an_excess(arch):
    """Nobody lacks 104 % of a thing: the injectors are so far from those that the map expects."""
    duty = replace(arch, kind="fraction", margin=Interval(-1.04, -1.08, -1.0))
    assert room_text(duty, "metric") == "beyond what is allowed by about 104 %, 100 to 108"
    flow = replace(duty, margin=Interval(-0.4, -0.45, -0.35))
    assert room_text(flow, "metric").startswith("short by about 40 %")
    unlike = replace(flow, check="calibration.injector_flow", system="calibration")
    assert room_text(unlike, "metric").startswith("beyond what is allowed by about 40 %")
    metres = replace(arch, margin=Interval(-1.04, -1.08, -1.0))
    assert room_text(metres, "metric").startswith("short by")


def test_what_is_there_against_what_is_wanted(arch):
    said = wanted_text(arch, "metric")
    assert re.fullmatch(
        r"counted with the 2 mm that is wanted; to the limit itself about [\d.]+ mm( short)?", said
    )  # the band stands at the room, and is told once
    assert wanted_text(replace(arch, gap_wanted=0.0), "metric") == ""


def test_an_unmeasured_finding_names_what_is_missing(arch):
    bare = replace(
        arch, margin=None, slack=None, verdict=Verdict.UNMEASURED,
        missing=("wheel.rear.left.spoke_map|wheel.rear.left.spoke_depth",),
    )  # fmt: skip
    assert margin_text(bare, "metric") == "nobody has measured wheel spoke map or spoke depth"


def test_what_matches_on_a_guess_is_not_said_to_match(finished):
    """Nor is a mismatch on a guess said without it."""
    holes = finished.finding("corners.bolt_count", "front.left")
    assert margin_text(holes, "metric") == "yes"
    guess = holes.but(verdict=Verdict.UNSURE, why=RESTS_ON_ASSUMED, lowest_known=HowKnown.ASSUMED)
    assert margin_text(guess, "metric") == "yes, as guessed"
    rating = finished.finding("corners.tyre_load", "front.left")
    guess = rating.but(verdict=Verdict.UNSURE, why=RESTS_ON_ASSUMED)
    assert margin_text(guess, "metric") == f"{margin_text(rating, 'metric')}, as guessed"
    other = holes.but(verdict=Verdict.SHORT, margin=Interval(-1.0, -1.0, -1.0))
    assert margin_text(other, "metric") == "by what the files say"
    guess = other.but(lowest_known=HowKnown.ASSUMED)
    assert "a guess" in margin_text(guess, "metric")


def test_one_check_at_both_sides_is_one_line(finished):
    both = [finished.finding("corners.arch_bump_gap", s) for s in ("rear.left", "rear.right")]
    (group,) = grouped(both)
    assert headline(group.finding, group.subjects).startswith("rear, both sides: the tyre meets")
    other = replace(both[1], verdict=Verdict.UNSURE)
    assert len(grouped([both[0], other])) == 2


def test_holds_of_both_sides_are_one_line():
    holds = [
        Hold("a.b", s, f"{s.replace('.', ' ')}: it touches", "more offset")
        for s in ("front.left", "front.right")
    ]
    assert hold_texts(holds) == [("front, both sides: it touches", "more offset")]


def test_ranges_are_said_in_the_readers_units(finished):
    note = RangeNote("speed", 0.0, 70.0, 0.031, ("goal.event_stop_speed",))
    assert "(SI)" in str(note)
    assert range_text(note, finished, "metric") == (
        "speed outside 0 km/h to 252 km/h, the range of a formula, 3 in 100"
    )
    assert "mph" in range_text(note, finished, "us")
    corner = RangeNote("lambda_", 0.6, 1.3, 1.0, ("blend.{blend}.lambda_full_load",))
    assert range_text(corner, finished, "metric").startswith("lambda outside 0.6")
    assert range_text("a plain note", finished, "metric") == "a plain note"
    unknown = RangeNote("x", 0.0, 1.0, 0.5, ("nowhere.at_all",))
    assert range_text(unknown, finished, "metric") == str(unknown)


def test_a_measurement_of_both_sides_names_no_side():
    m = Measurement(
        "wheel.front.left.spoke_depth", "doc", "how", "depth gauge", 10, 2.0, 7, (), True, "",
        "wheel.front.left.spoke_depth",
    )  # fmt: skip
    assert measurement_text(m, {}) == (
        "front wheel spoke depth: depth gauge, 10 min a side, both sides"
    )


def test_changes_in_words():
    raw = {"is": "-1.5 deg", "plus_minus": "0.1 deg"}
    said = change_text(Change("set", "arm.rear.camber_change", raw))
    assert said == "rear arm camber change set to −1.5 deg ± 0.1 deg"
    fit = Change("fit", "wheel.front", "loft_17x8")
    assert change_text(fit) == "front wheel: loft 17x8 fitted"
    assert change_text(fit, {"loft_17x8": "Loft Five 17x8"}) == "front wheel: Loft Five 17x8 fitted"
    assert change_text(Change("remove", "spacer.rear")) == "rear spacer taken off"
    assert written_text({"is": ["22 mm", "23 mm"], "by": "tape"}) == "22 mm, 23 mm, tape"
    assert written_text(True) == "yes"


def test_lines_keep_to_the_width_and_their_indent(monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    lines = wrapped("  one " + "word " * 60, 6)
    assert max(map(len, lines)) <= 80
    assert lines[0].startswith("  one")
    assert all(line.startswith("      word") for line in lines[1:])
    monkeypatch.setenv("COLUMNS", "300")
    assert max(map(len, wrapped("word " * 60, 0))) <= 100


def test_the_table_holds_every_finding_flat(finished):
    rows = drybuild.as_table(finished)
    assert len(rows) == len(finished.findings)
    assert {tuple(row) for row in rows} == {tuple(rows[0])}
    flat = (str, float, bool, type(None))
    assert all(isinstance(value, flat) for row in rows for value in row.values())
    row = next(
        r for r in rows if (r["check"], r["subject"]) == ("corners.arch_bump_gap", "rear.left")
    )
    finding = finished.finding("corners.arch_bump_gap", "rear.left")
    assert row["margin"] == finding.margin.median
    assert row["unit"] == "m"
    assert row["verdict"] == "short"
    bare = next(r for r in rows if r["verdict"] == "unmeasured")
    assert bare["margin"] is None
    assert bare["missing"]


def test_workings_say_once_what_is_the_same_now_as_found():
    """A sum over parts of which most stay: those that stay cancel, and are named, not numbered."""
    line = Line("wheel_now", "wheel.front.left.mass", "9 kg", "catalogue")
    found = Line("wheel_found", "base:wheel.front.left.mass", "7 kg", "catalogue")
    stays = Line("disc_now", "disc.front.left.mass", "6 kg", "catalogue")
    stayed = Line("disc_found", "base:disc.front.left.mass", "6 kg", "catalogue")
    nobody = Line("pads_now", "pads.front.mass", "not stated", "")
    gone = Line("spacer_on", "spacer.front.left.present", "no", "measured")
    spacer = Line("spacer_now", "spacer.front.left.mass", "not stated", "")
    inputs = (line, found, stays, stayed, nobody, gone, spacer)
    step = Step("mass change", "ride.x", "sum", inputs, "2 kg", "statics", "f")
    said = " ".join(" ".join(_step_lines(1, step, {})).split())
    assert "wheel now = 9 kg" in said
    assert "wheel found = 7 kg" in said
    assert "6 kg" not in said
    assert "the same now as found: disc" in said
    assert "nothing stated of: pads now" in said
    assert "not fitted: front left spacer" in said
    assert "spacer now" not in said


def test_an_angle_that_moves_has_two_figures_in_degrees() -> None:
    figure = Figure("camber, left", "angle", False, 0.0, 0.0, math.radians(-0.2983))
    moved = Moves((figure,), (), ())
    assert moved_sentence(moved, "metric") == "camber, left −0.3 deg"


def test_what_moves_shows_its_doubt_where_that_is_wide() -> None:
    mass = Figure("wheel and tyre, each", "mass", False, 20.0, 19.5, -0.52, -1.74, 0.71)
    track = Figure("track", "length", False, 1.52, 1.504, -0.016, -0.0165, -0.0155)
    gap = Figure("tyre to arm", "length", False, 0.02, 0.011, -0.0092, also=2)
    assert moved_sentence(Moves((mass, track), (gap,), ()), "metric") == (
        "wheel and tyre, each −0.5 kg (−1.7 to 0.7); track −16 mm; "
        "tyre to arm, and 2 more gaps −9 mm"
    )


def test_what_turns_at_both_sides_says_so_that_it_can_be_counted() -> None:
    corners = ("rear.left", "rear.right")
    lip = Turned("lip", corners, "tyre to arch lip", Verdict.ENOUGH, Verdict.SHORT)
    lamp = Turned("lamp", ("car",), "height of the lamp", Verdict.ENOUGH, Verdict.SHORT)
    load = Turned("load", CORNERS, "load index", Verdict.ENOUGH, Verdict.UNSURE)
    assert moved_sentence(Moves((), (), (lip, lamp, load)), "metric") == (
        "now unsure: load index, all four corners; "
        "now short: tyre to arch lip, both sides · height of the lamp"
    )


def test_gaps_that_one_thing_moves_alike_are_one_line() -> None:
    lost = (-0.0092, -0.0092, -0.0091, -0.002)
    gaps = [Figure(f"gap {n}", "length", False, 0.0, c, c) for n, c in enumerate(lost)]
    assert [(gap.what, gap.also) for gap in _as_much(gaps)] == [("gap 0", 2), ("gap 3", 0)]


def test_what_moves_alike_at_both_axles_is_said_once_and_else_by_axle() -> None:
    same, other = (MovedLine("now short", ("pump, hot", "turbo")),), (MovedLine("track +2 mm"),)
    assert [str(line) for line in same] == ["now short: pump, hot · turbo"]
    assert compare._moved({"front": same, "rear": same}) == (("", same),)
    assert compare._moved({"front": same, "rear": other}) == (("front", same), ("rear", other))
    assert compare._moved({"front": (), "rear": other}) == (("rear", other),)
    assert compare._moved({"rear": ()}) == ()


def test_what_a_measurement_settles_is_said_in_whole_questions() -> None:
    """Nobody answers 0.88 of a question."""
    said = [_settled(n, 7) for n in (0.2, 0.5, 0.88, 1.7, 2.5)]
    assert said[0] == "may settle one of 7 that rest on it"
    counts = [re.findall(r"about (\d+) of the 7", one) for one in said[1:]]
    assert counts == [["1"], ["1"], ["2"], ["2"]]
    assert _settled(1.9, 2) == "may settle both that rest on it, 95 in 100 each"
    assert _settled(2.8, 3) == "may settle all 3 that rest on it, 93 in 100 each"
    assert _settled(2.0, 2) == "may settle both that rest on it, more than 99 in 100 each"
    assert _settled(0.9, 1) == "may settle the one that rests on it, 90 in 100"


def test_what_stays_unsure_for_its_guesses_is_not_promised_to_be_settled() -> None:
    rest = (("corners.tyre_upright_gap", "rear.left"), ("corners.tyre_upright_gap", "rear.right"))
    said = Measurement(
        "corner.rear.left.upright_point.gap", "", "", "coins", 1, 1.9, 90, rest, True, "", "",
        alone=0.06, as_guessed=1.84, narrows=0.5,
    )  # fmt: skip
    assert settled_text(said) == (
        "may show room, as guessed, in both that rest on it, 92 in 100 each; unsure until a better "
        "word on the guesses in it"
    )


def _settled(settles: float, many: int) -> str:
    rest = tuple(("corners.tyre_arm_gap", f"{n}") for n in range(many))
    said = Measurement(
        "car.wheelbase", "", "", "tape", 1, settles, 90, rest, False, "", "", alone=settles
    )
    return settled_text(said)


def test_what_one_reading_leaves_open_says_how_much_doubt_it_takes() -> None:
    rest = (("corners.tyre_arm_gap", "a"), ("corners.tyre_arm_gap", "b"))
    one = Measurement("car.wheelbase", "", "", "tape", 1, 0.3, 90, rest, False, "", "", alone=0.3)
    assert settled_text(replace(one, narrows=0.42)) == (
        "takes about 40 % off the doubt of one of 2 that rest on it; may settle one"
    )
    assert settled_text(replace(one, alone=0.0)) == (
        "takes one guess out of each of the 2 that rest on it; more are in it"
    )


def test_what_rests_on_a_reading_is_named_or_counted_to_the_last(finished):
    named = [("corners.tyre_arm_gap", "rear.left"), ("corners.tyre_arm_gap", "rear.right"),
             ("corners.tyre_arch_gap", "rear.left"),
             ("ride.camber_reach", "rear.left")]  # fmt: skip
    said = titles(named, finished, most=2)
    assert "(rear, both sides)" in said
    assert said.endswith("; 1 more")
    assert titles(named, finished, most=1).endswith("; 2 more")
    assert "more" not in titles(named, finished)


def test_a_part_in_hand_has_one_name_in_measure_and_in_a_plan(finished):
    parts = finished.state.build.parts
    part = next(i for i, p in parts.items() if p.name and p.name != i)
    said = Measurement(
        "tyre.front.left.marking", "", "read it", "eye", 1, 1.0, 2, (), True, "",
        f"part.{part}.marking",
    )  # fmt: skip
    for name, known in ((parts[part].name, parts), ("", {})):
        planned = ToMeasure(said.input, said.note_as, "eye", "read it", 1, True, 3, name)
        assert to_measure_text(planned).startswith(f"{measured_name(said, known)} (read off, 1 min")


def test_what_the_build_was_begun_with_is_told_first_until_it_is_enough(finished):
    heavy = stopping(finished)
    assert told_first(finished) == heavy  # the demo was begun with nothing
    last = heavy[-1]
    found = told_first(asking(finished, f"{last.check} {last.subject}"))
    assert found[0] is last
    assert found[1:] == heavy[:-1]
    enough = next(f for f in finished.findings if f.verdict is Verdict.ENOUGH and f.armed)
    assert told_first(asking(finished, f"{enough.check} {enough.subject}")) == heavy
    quiet = next(f for f in finished.findings if f.armed and f.verdict is Verdict.UNSURE
                 and not f.stopping)  # fmt: skip
    told = told_first(asking(finished, f"{quiet.check} {quiet.subject}"))
    assert told == [quiet, *heavy]


def asking(examination, asked):
    build = examination.state.build
    head = build.head.model_copy(update={"asked": asked})
    return replace(examination, state=replace(examination.state, build=replace(build, head=head)))


@pytest.mark.parametrize(("change", "said"), [(0.57e-3, "+1 mm"), (-0.69e-3, "−1 mm"),
                                              (2.4e-3, "+2 mm")])  # fmt: skip
def test_a_gap_that_moves_is_said_in_whole_millimetres(change, said):
    gap = Figure("tyre to arch lip at rest", "length", False, 0.01, 0.01 + change, change)
    assert moved_sentence(Moves((), (gap,), ()), "metric") == f"tyre to arch lip at rest {said}"


def test_what_is_certain_has_no_small_doubts_that_hold_it_down():
    sure = Joint("100 in 100 (3 of 9 unmeasured, not in it)", NO_CHECK)
    assert joint_words(sure) == (sure.chance, JOINT_MEANS)
    assert SMALL_DOUBTS in joint_words(Joint("99 in 100", NO_CHECK))[1]
