"""The sheet of a day, the opened car, the calendar: lines of a plan."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import making_todo as making
import pytest
from icalendar import Calendar

from drybuild.show.calendar import events, ics
from drybuild.show.chassis import Chassis, layout
from drybuild.show.drawing import PAPER, SCREEN, Drawing
from drybuild.show.opened_car import (
    FRAME,
    NUMBER,
    TALL,
    WIDE,
    labels,
    opened_narrow_svg,
    opened_svg,
)
from drybuild.show.whereabouts import place_of, spoken_place
from drybuild.show.work_sheet import WIDE as SHEET_WIDE
from drybuild.show.work_sheet import sheet_svg, spells
from drybuild.work.library import load, outlines
from drybuild.work.model import Component, Hours, Need, Plan, Work

ROOT = Path(__file__).parents[2]

MADE = making.MADE
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def found():
    return making.made_sheets()


# The sheet of a day


def words_of(svg):
    """Each text of a drawing with its place and size, as drawn."""
    return [
        (float(t.get("x")), float(t.get("y")), float(t.get("font-size")), t.get("text-anchor"),
         t.text)
        for t in ElementTree.fromstring(svg).iter(f"{SVG}text")
    ]  # fmt: skip


def boxes_of(svg, face):
    """Left, right, foot and height of each text, by the face's own measure."""
    found = []
    for x, y, size, anchor, words in words_of(svg):
        long = len(words) * face.em * size * 0.9
        left = {"start": x, "middle": x - long / 2, "end": x - long}[anchor]
        found.append((left, left + long, y - size * 0.7, y, words))
    return found


def test_spells_are_what_one_person_does(found):
    ilse = spells(found, "sat-1", "Ilse")
    assert [(s.card.number, s.own) for s in ilse] == [(1, True), (3, True), (5, True), (6, True)]
    marten = spells(found, "sat-1", "Marten")
    assert [(s.card.number, s.own) for s in marten] == [
        (1, False), (2, True), (4, True), (5, False), (6, False),
    ]  # fmt: skip
    taken = sum(s.end - s.start for s in (*ilse, *marten))
    steps = found.plan.of("sat-1")
    assert taken == sum(len(s.who) * (s.end - s.start) for s in steps)


def test_every_person_and_task_is_on_the_sheet(found):
    for session in found.ends:
        svg = sheet_svg(found, session)
        said = " ".join(words for *_, words in words_of(svg))
        for person in found.todo.problem.session(session).people:
            assert person.name in said
        for card in found.cards:
            if card.session == session:
                for task in card.tasks:
                    assert task.title.split(",")[0] in said


@pytest.mark.parametrize("face", [SCREEN, PAPER], ids=["screen", "paper"])
def test_words_of_the_sheet_lie_on_it_and_apart(found, face):
    for session in found.ends:
        svg = sheet_svg(found, session, face=face)
        tall = float(ElementTree.fromstring(svg).get("viewBox").split()[3])
        boxes = boxes_of(svg, face)
        for left, right, top, foot, words in boxes:
            assert left >= 0, words
            assert right <= SHEET_WIDE, words
            assert top > 0, words
            assert foot <= tall, words
        for i, one in enumerate(boxes):
            for other in boxes[i + 1 :]:
                apart = (
                    one[1] <= other[0] or other[1] <= one[0]
                    or one[3] <= other[2] or other[3] <= one[2]
                )  # fmt: skip
                assert apart, (one[4], other[4])


def test_words_that_would_leave_the_sheet_end_at_their_leader_and_numbers_keep_to_their_box(found):
    """A row with a long name at its very end, in a box of a quarter of an hour."""
    steps = found.plan.of("sat-1")
    last = max(steps, key=lambda s: s.start)
    end = found.todo.problem.session("sat-1").end
    late = replace(last, start=end - 1, end=end)
    plan = replace(found.plan, steps=tuple(late if s == last else s for s in found.plan.steps))
    cards = tuple(
        replace(c, number=88, tasks=tuple(
            replace(t, step=late, title="what is long and at the end") if t.step == last else t
            for t in c.tasks
        ))
        if last in c.steps else c
        for c in found.cards
    )  # fmt: skip
    svg = sheet_svg(replace(found, plan=plan, cards=cards), "sat-1")
    words = words_of(svg)
    named = [row for row in words if (row[4] or "").startswith("what is long")]
    assert {row[3] for row in named} == {"end"}
    for x, y, *_ in named:  # the leader comes down beside the last letter and turns to it
        assert re.search(rf"[ML ]{x + 3:.1f}[ ,]{y - 4:.1f}", svg), (x, y)
    boxes = [
        (float(left), float(right) - float(left))
        for left, right in re.findall(r'd="M([\d.]+) [\d.]+ L([\d.]+) [^"]*Z"', svg)
    ]
    numbers = [row for row in words if row[4] == "88" and row[3] == "middle"]
    assert numbers
    for x, _, size, *_ in numbers:
        wide = next(w for left, w in boxes if left < x < left + w)
        assert 2 * 0.7 * size <= wide


def test_a_session_that_runs_over_is_drawn_to_its_end(found):
    problem = found.todo.problem
    short = replace(problem.session("sat-1"), end=44)
    sessions = (short, *problem.sessions[1:])
    ran_over = replace(found, todo=replace(found.todo, problem=replace(problem, sessions=sessions)))
    said = [words for *_, words in words_of(sheet_svg(ran_over, "sat-1"))]
    assert "15:00" in said


# The opened car


def component(title, region=""):
    nothing = Work(Hours(1, 1, 1))
    return Component(title.replace(" ", "_"), title, region, nothing, nothing)


def test_a_place_is_found_by_plain_words():
    x, y, _ = place_of(component("rear right wheel"))
    assert (x, y) == (2.5, -0.84)
    assert place_of(component("front left wheel"))[:2] == (0.0, 0.84)
    assert place_of(component("front bumper"))[0] < -0.5
    assert place_of(component("rear bumper"))[0] > 3.0
    # the words of the thing itself come before those of its region
    assert place_of(component("gearbox", "front corners")) == spoken_place("gearbox")
    # the noun is the last word: a bumper's bracket is at the bumper, a wheel's arch at the liner
    assert spoken_place("wheel arch liner") == spoken_place("arch liner")
    # without words of its own, its region's
    assert place_of(component("odd gadget", "rear corners"))[0] == 2.5
    assert place_of(component("odd gadget", "somewhere")) is None
    # a sill lies between the wheels, at the side: not where the carpet of its title does
    sill = load("flat-four-turbo").components["sill_trims"]
    x, y, _ = place_of(replace(component(sill.title, sill.region), id="sill_trims"))
    assert (0.5 < x < 2.0, y > 0.6) == (True, True)
    assert spoken_place("tankard") is None  # a word, not a part of one


@pytest.mark.parametrize("outline", outlines())
def test_everything_of_the_work_library_has_a_place(outline):
    for name, table in load(outline).components.items():
        for axle in ("front", "rear") if "{axle}" in name else ("",):
            one = component(table.title.replace("{axle}", axle), table.region)
            place = place_of(replace(one, id=name.replace("{axle}", axle)))
            assert place is not None, name
            assert -0.9 <= place[0] <= 3.4
            assert -0.9 <= place[1] <= 0.9


def test_what_lies_on_the_engine_is_not_drawn_at_the_nose():
    assert place_of(component("charge cooler", "nose"))[0] < -0.5
    x, _, z = place_of(component("charge cooler", "engine, top"))
    assert (x, z) == (-0.35, 0.74)
    assert place_of(component("radiator", "engine, front"))[0] < -0.5


def with_off(found, titles):
    things = {f"c{i}": component(title) for i, title in enumerate(titles)}
    problem = replace(found.todo.problem, components=things)
    car = replace(found.ends["sat-1"], off=tuple(things), pending=())
    ends = {**found.ends, "sat-1": car}
    return replace(found, todo=replace(found.todo, problem=problem), ends=ends)


MANY = (
    "front bumper", "front wheels", "rear wheels", "charge pipes", "air box", "fuel rail",
    "inlet manifold", "exhaust centre section", "propshaft", "gearbox", "rear seat", "battery",
    "front calipers", "undertray", "turbocharger", "odd gadget",
)  # fmt: skip


def test_what_is_off_is_labelled_in_order(found):
    car = with_off(found, MANY)
    assert [label.number for label in labels(car, "sat-1")] == list(range(1, len(MANY) + 1))
    said = " ".join(words for *_, words in words_of(opened_svg(car, "sat-1")))
    for number, title in enumerate(MANY[:-1], 1):
        assert said.count(f"{number}  {title}") == 1
    assert f"also off: {len(MANY)} odd gadget" in said
    told = ElementTree.fromstring(opened_svg(car, "sat-1")).get("aria-label")
    assert "front bumper; front wheels" in told


@pytest.mark.parametrize("face", [SCREEN, PAPER], ids=["screen", "paper"])
def test_labels_lie_on_the_picture_and_apart(found, face):
    svg = opened_svg(with_off(found, MANY), "sat-1", face=face)
    boxes = boxes_of(svg, face)
    for i, (left, right, top, foot, words) in enumerate(boxes):
        assert 0 <= left < right <= WIDE, words
        assert 0 < top < foot <= TALL, words
        for other in boxes[i + 1 :]:
            assert right <= other[0] or other[1] <= left or foot <= other[2] or other[3] <= top, (
                words,
                other[4],
            )


@pytest.mark.parametrize("face", [SCREEN, PAPER], ids=["screen", "paper"])
def test_words_below_begin_under_the_longest_column(found, face):
    """Titles of two lines, all of one end of the car: the column is longer than the car."""
    long = [f"front wheels, number {n}, and whatever else hangs on them" for n in range(18)]
    svg = opened_svg(with_off(found, long), "sat-1", face=face)
    boxes = boxes_of(svg, face)
    assert any(box[4].startswith("also off") for box in boxes)
    for i, (left, right, top, foot, words) in enumerate(boxes):
        for other in boxes[i + 1 :]:
            apart = right <= other[0] or other[1] <= left or foot <= other[2] or other[3] <= top
            assert apart, (words, other[4])
    height = float(ElementTree.fromstring(svg).get("viewBox").split()[3])
    assert max(box[3] for box in boxes) <= height


def test_on_a_phone_the_car_carries_numbers_that_can_be_read_and_are_apart(found):
    car = with_off(found, MANY)
    svg = opened_narrow_svg(car, "sat-1")
    assert ElementTree.fromstring(svg).get("viewBox").split() == [f"{n:.0f}" for n in FRAME]
    placed = [label for label in labels(car, "sat-1") if label.at is not None]
    texts = re.findall(r'<text x="([\d.]+)" y="([\d.]+)" font-size="([\d.]+)"[^>]*>(\d+)<', svg)
    assert [int(number) for *_, number in texts] == [label.number for label in placed]
    # the sheet's share of a phone's 340 px
    assert float(texts[0][2]) * 340 / FRAME[2] > 14
    at = [(float(x), float(y)) for x, y, *_ in texts]
    for i, (x, y) in enumerate(at):
        assert FRAME[0] < x < FRAME[0] + FRAME[2]
        assert FRAME[1] < y < FRAME[1] + FRAME[3]
        for a, b in at[i + 1 :]:
            assert abs(x - a) > NUMBER or abs(y - b) > NUMBER


def test_more_than_a_column_holds_is_listed_below(found):
    titles = tuple(f"front wheel {chr(97 + n // 10)}{chr(97 + n % 10)}" for n in range(40))
    said = " ".join(words for *_, words in words_of(opened_svg(with_off(found, titles), "sat-1")))
    for number, title in enumerate(titles, 1):
        assert re.search(rf"\b{number}\s+{title}\b", said), title


def test_nothing_off_is_said(found):
    svg = opened_svg(found, "sat-3")
    assert "nothing is off" in [words for *_, words in words_of(svg)]
    assert ElementTree.fromstring(svg).get("aria-label").endswith("nothing is off")


@pytest.mark.parametrize(
    ("outline", "lies"),
    [("transverse turbo", "transverse"), ("flat-four-turbo", "flat-four"),
     ("in-line-rear-drive", "in-line"), ("", "in-line")],
)  # fmt: skip
def test_the_engine_lies_as_the_outline_says(outline, lies):
    assert layout(outline) == lies
    drawing = Drawing(SCREEN)
    Chassis(drawing, (392.0, 318.0), lies).draw()
    points = re.findall(r"(-?[\d.]+) (-?[\d.]+)", " ".join(drawing.parts))
    assert all(0 <= float(x) <= WIDE for x, _ in points)


def test_the_outline_is_the_work_librarys(found):
    assert found.outline == "in-line-rear-drive"  # the Plover began as a light roadster


def test_the_drawings_differ_by_outline():
    drawn = []
    for lies in ("transverse", "flat-four", "in-line"):
        drawing = Drawing(SCREEN)
        Chassis(drawing, (392.0, 318.0), lies).draw()
        drawn.append("".join(drawing.parts))
    assert len(set(drawn)) == 3


def test_no_colour_says_anything(found):
    """Black, white and one ink: what a drawing says it says in shapes and words."""
    for svg in (opened_svg(found, "sat-1"), sheet_svg(found, "sat-1")):
        assert set(re.findall(r"#[0-9a-f]+", svg)) <= {"#1d2a30", "#fff"}


def test_hostile_words_are_words(found):
    title = '<script>alert("x")</script> & </text> \x07'
    car = with_off(found, (title,))
    svg = opened_svg(car, "sat-1")
    ElementTree.fromstring(svg)
    assert "<script" not in svg


# The calendar


def test_the_calendar_reads_back_as_it_was_meant(found):
    read = Calendar.from_ical(ics(found))
    back = {str(e["summary"]): e for e in read.walk("VEVENT")}
    meant = events(found)
    assert len(read.walk("VEVENT")) == len(meant)
    for event in meant:
        one = next(
            e for e in read.walk("VEVENT")
            if str(e["summary"]) == event.title and str(e["description"]) == event.words
        )  # fmt: skip
        start = one["dtstart"].dt
        assert start == (event.start.date() if event.whole_day else event.start)
        assert ("dtend" in one) == (event.end is not None or event.whole_day)
        assert str(one["transp"]) == ("OPAQUE" if event.busy else "TRANSPARENT")
    booked = back["alignment at the shop, booked"]
    assert booked["dtstart"].dt == datetime(2026, 12, 12, 13, 0)
    assert booked["dtend"].dt == datetime(2026, 12, 12, 14, 30)


def test_one_part_for_two_places_of_a_day_is_one_line(found):
    item = next(i for i in found.shopping.items if i.what == "tolland_disc_310")
    one = replace(item.lots[0], quantity=2.0)
    two = replace(item, lots=(one, one), jobs=(*item.jobs, "rear"))
    listed = replace(found.shopping, items=(two,))
    lines = next(
        e.words for e in events(replace(found, shopping=listed)) if e.title.endswith("garage")
    ).splitlines()
    assert lines == [f"4 × {item.title}"]


def test_a_plan_made_anew_moves_its_events(found):
    def by_uid(sheets):
        return {
            str(e["uid"]): (str(e["summary"]), e["dtstart"].dt, int(e["sequence"]))
            for e in Calendar.from_ical(ics(sheets)).walk("VEVENT")
        }

    later = making.problem()
    moved = replace(later.session("sat-2"), start=later.session("sat-2").start + 4)
    problem = replace(later, sessions=(later.sessions[0], moved, later.sessions[2]))
    imprint = replace(found.imprint, entries=7)
    steps = tuple(
        replace(s, start=s.start + 4, end=s.end + 4) if s.session == "sat-2" else s
        for s in found.plan.steps
    )
    again = replace(
        found, todo=replace(found.todo, problem=problem), imprint=imprint,
        plan=replace(found.plan, steps=steps),
    )  # fmt: skip
    before, after = by_uid(found), by_uid(again)
    assert before.keys() == after.keys()
    assert {at for _, at, _ in before.values()} != {at for _, at, _ in after.values()}
    assert {n for *_, n in before.values()} == {0}
    assert {n for *_, n in after.values()} == {7}
    other = replace(found, imprint=replace(found.imprint, build="Another car"))
    assert not before.keys() & by_uid(other).keys()


def test_times_with_a_zone_are_written_in_utc_on_both_sides_of_summer_time(found):
    """Europe/Berlin put its clocks forward on 28 March 2027: nine o'clock is 8, then 7 UTC."""
    zero = datetime(2027, 3, 27, tzinfo=ZoneInfo("Europe/Berlin"))
    problem = making.problem()
    first, second = problem.sessions[0], problem.sessions[1]
    next_day = replace(second, start=first.start + 96, end=first.end + 96)
    zoned = replace(problem, zero=zero, sessions=(first, next_day, problem.sessions[2]), needs=())
    shopping = replace(found.shopping, items=())
    ends = {name: found.ends[name] for name in ("sat-1", "sat-2")}
    plan = Plan((), (), ())
    made = replace(
        found, todo=replace(found.todo, problem=zoned), ends=ends, shopping=shopping, plan=plan
    )
    starts = [e["dtstart"].dt for e in Calendar.from_ical(ics(made)).walk("VEVENT")]
    assert starts == [
        datetime(2027, 3, 27, 8, tzinfo=UTC), datetime(2027, 3, 28, 7, tzinfo=UTC),
    ]  # fmt: skip


def test_a_use_wanted_after_a_session_without_work_is_left_out(found):
    problem = found.todo.problem
    needs = (Need("drive", "nowhere", 10),)
    changed = replace(found, todo=replace(found.todo, problem=replace(problem, needs=needs)))
    assert not [e for e in events(changed) if e.kind == "wanted"]
