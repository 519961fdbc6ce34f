"""Hold tags, and the list of what to have in hand."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import making_todo as making
import pytest

from drybuild.build.state import Change
from drybuild.examine.opened import open_build
from drybuild.show.cards_text import day_words
from drybuild.show.cards_words import price_text
from drybuild.work.cards import cards
from drybuild.work.model import (
    Condition,
    Hours,
    Notes,
    Renewable,
    Session,
    Work,
)
from drybuild.work.sheets import sheets
from drybuild.work.shopping import shopping
from drybuild.work.standing import (
    Standing,
)
from drybuild.work.tags import ELSEWHERE, tags
from drybuild.work.todo import OWN_PLACE

SAT_1 = 36
PLOVER = Path(__file__).parents[2] / "examples" / "plover"


@pytest.fixture(scope="module")
def hung(opened, lessons):
    return sheets(opened, making.todo(), making.plan(), lessons=lessons).tags


def test_tags_hang_for_what_is_off_pending_or_stopped_by_a_check(hung):
    first = {tag.command: tag for tag in hung if tag.session == "sat-1"}
    crank = first["DO NOT CRANK"]
    assert crank.reasons[:2] == ("fuel system open", "map expects other injectors")
    assert crank.until == ""  # a line that stands on it is open still: no other takes its place
    assert "DO NOT CRANK" not in {tag.command for tag in hung if tag.session == "sat-2"}
    assert first["NO FULL LOAD"].until == "sat-2"  # another reason: one with all of them is hung
    start = first["DO NOT START"]
    assert {"fuel rail off", "sealant curing", "the map meters fuel for other injectors"} <= set(
        start.reasons
    )
    assert first["TIGHTEN THE WHEELS AGAIN"].place == ELSEWHERE
    assert first["TIGHTEN THE WHEELS AGAIN"].until == "sat-3"
    # the brakes were bled before the day ended: their tag hangs no more
    assert "brake circuit open" not in first["DO NOT MOVE"].reasons


def test_a_tag_that_hangs_already_is_not_hung_again(hung):
    for tag in hung:
        same = [t for t in hung if (t.command, t.reasons) == (tag.command, tag.reasons)]
        assert same == [tag]
    move = next(tag for tag in hung if tag.command == "DO NOT MOVE")
    assert move.until == ""  # nothing in the plan lifts the rim's meeting the caliper


def test_no_tag_when_nothing_is_stopped():
    todo, plan = replace(making.todo(), notes={}), making.plan()
    free = {s.id: Standing(s.end, (), (), (), ()) for s in todo.problem.sessions}
    assert tags(todo, plan, free) == ()


# The list


def test_each_thing_is_wanted_by_the_start_of_the_first_task_that_uses_it(opened):
    found = shopping(making.todo(), making.plan(), opened=opened)
    by = {item.title: item.by for item in found.items}
    assert by["Tolland front damper"] == datetime(2026, 12, 5, 9, 45)
    assert by["injector seal"] == datetime(2026, 12, 12, 9, 0)
    assert [item.by for item in found.items] == sorted(item.by for item in found.items)


def test_quantities_and_known_prices_are_summed(opened):
    found = shopping(making.todo(), making.plan(), opened=opened)
    fluid = next(item for item in found.items if item.title == "brake fluid")
    assert (fluid.quantity, fluid.unit, fluid.price) == (1.5, "L", 27.0)
    damper = next(item for item in found.items if item.title == "Tolland front damper")
    assert damper.quantity == 2
    jobs = 910 + 1460 + 540 + 480 + 160
    renewables = 9.0 + 3.2 + 27.0 + 12.8 + 8.8
    assert found.known == pytest.approx(jobs + renewables)


def test_a_thing_is_had_the_day_before_and_a_booking_is_for_its_day(opened):
    found = shopping(making.todo(), making.plan(), opened=opened)
    damper = next(item for item in found.items if item.title == "Tolland front damper")
    assert (day_words(damper), damper.by.day) == ("by Fri 4 Dec", 5)
    (booking,) = found.of("booking")
    assert day_words(booking) == "for Sat 12 Dec"


def test_fluid_that_a_job_fills_in_is_on_the_list_once(opened):
    """The job fits it, and bleeding in the same session wants so much of it new."""
    found = shopping(_filled_by("front-brakes"), making.plan(), opened=opened)
    (fluid,) = [item for item in found.items if "fluid" in item.title]
    assert (fluid.kind, fluid.quantity, fluid.unit) == ("part", 1.5, "L")
    plain = shopping(making.todo(), making.plan(), opened=opened)
    assert plain.known - found.known == pytest.approx(27.0)
    found_cards = cards(opened, _filled_by("front-brakes"), making.plan())
    on_cards = [r for c in found_cards for r in c.renew]
    assert {r.name for r in on_cards if "fluid" in r.name} == {fluid.title.split(" · ")[0]}
    apart = shopping(_filled_by("first-map"), making.plan(), opened=opened)
    assert len([item for item in apart.items if "fluid" in item.title]) == 2


def _filled_by(name):
    """The work, with a job that fits a brake fluid besides."""
    todo = making.todo()
    job, parts = todo.problem.jobs[name], todo.parts.get(name, ())
    filled = replace(job, changes=(*job.changes, Change("fit", "brake_fluid", "quern_fluid")))
    made = replace(todo.problem, jobs={**todo.problem.jobs, name: filled})
    return replace(todo, problem=made, parts={**todo.parts, name: (*parts, "quern_fluid")})


def test_a_price_without_a_currency_is_shown_in_that_of_the_list(tmp_path):
    """It is counted in that currency, and so it is printed in it."""
    shutil.copytree(PLOVER, tmp_path / "car")
    file = tmp_path / "car" / "parts" / "brakes.toml"
    text = file.read_text(encoding="utf-8")
    assert 'price = "310 AUD"' in text
    file.write_text(text.replace('price = "310 AUD"', 'price = "310"'), encoding="utf-8")
    found = shopping(making.todo(), making.plan(), opened=open_build(tmp_path / "car"))
    disc = next(item for item in found.items if item.what == "tolland_disc_310")
    assert disc.price_text == "310 AUD"


def test_what_is_used_in_two_sessions_comes_in_two_lots():
    todo, plan = making.todo(), making.plan()
    notes = {**todo.notes, "job:first-map": Notes("x", renew=(Renewable("brake fluid", 1, "L"),))}
    found = shopping(replace(todo, notes=notes), plan)
    fluid = next(item for item in found.items if item.title == "brake fluid")
    assert [(lot.session, lot.quantity) for lot in fluid.lots] == [("sat-1", 1.5), ("sat-2", 1.0)]
    assert fluid.price is None  # one of its uses has no price: none is made up
    assert found.unpriced >= 1


def test_borrowed_tools_and_bookings(opened):
    found = shopping(making.todo(), making.plan(), opened=opened)
    # axle stands are at hand in every session, so nobody borrows them
    assert [item.what for item in found.of("tool")] == ["spring compressor", "trailer"]
    (booking,) = found.of("booking")
    assert (booking.what, booking.price) == ("alignment", 160.0)


def test_a_session_elsewhere_says_nothing_of_what_has_to_be_borrowed():
    todo, plan = making.todo(), making.plan()
    home = [replace(s, tools=s.tools | {OWN_PLACE}) for s in todo.problem.sessions]
    shop = Session("shop", "the shop", 5000, 5010, (), frozenset({"rack"}))
    needed = replace(todo.problem.jobs["front-brakes"].work, needs=(
        ((Condition("tool", OWN_PLACE),),), ((Condition("tool", "axle stands"),),)))  # fmt: skip
    jobs = {**todo.problem.jobs, "front-brakes": replace(
        todo.problem.jobs["front-brakes"], work=needed)}  # fmt: skip
    problem = replace(todo.problem, sessions=(*home, shop), jobs=jobs)
    found = shopping(replace(todo, problem=problem), plan)
    assert [item.what for item in found.of("tool")] == ["spring compressor", "trailer"]


def test_work_of_others_is_said_to_be_theirs(opened):
    todo = making.todo()
    alone = replace(todo.problem.jobs["alignment"], work=Work(Hours(1, 1, 1), people=0))
    problem = replace(todo.problem, jobs={**todo.problem.jobs, "alignment": alone})
    rows = [
        (kind, what, session, start, () if what == "alignment" else who)
        for kind, what, session, start, who in making.ROWS
    ]
    found = cards(opened, replace(todo, problem=problem), making.plan(rows))
    card = making.named(found, "alignment at the shop")
    assert (card.who, card.outside, card.hours) == ((), True, 0)
    assert not making.named(found, "first map flashed").outside


def test_lots_of_one_part_come_when_their_own_jobs_say():
    todo, plan = making.todo(), making.plan()
    jobs = dict(todo.problem.jobs)
    jobs["first-map"] = replace(jobs["first-map"], earliest=600)
    parts = {**todo.parts, "first-map": ("tolland_disc_310",)}
    problem = replace(todo.problem, jobs=jobs)
    found = shopping(replace(todo, problem=problem, parts=parts), plan)
    (discs,) = [item for item in found.items if item.what == "tolland_disc_310"]
    assert [(lot.session, lot.late) for lot in discs.lots] == [("sat-1", False), ("sat-2", False)]
    assert discs.arrives == datetime(2026, 12, 11, 6)
    assert not discs.late  # the second lot comes after the first is wanted, and in time for its own


def test_a_part_that_comes_too_late_says_so():
    todo, plan = making.todo(), making.plan()
    brakes = todo.problem.jobs["front-brakes"]

    def arriving(quarter):
        job = replace(brakes, earliest=quarter)
        problem = replace(todo.problem, jobs={**todo.problem.jobs, "front-brakes": job})
        found = shopping(replace(todo, problem=problem), plan)
        return next(item for item in found.items if item.what == "tolland_disc_310")

    begins = SAT_1 + 11
    assert not arriving(begins).late
    assert arriving(begins + 1).late
    assert arriving(0).arrives is None


def test_wheel_nuts_are_counted_by_the_studs_of_each_hub(opened):
    """A set stands at four places and is of sixteen: four wheels on four studs each."""
    todo = making.todo()
    job = todo.problem.jobs["front-brakes"]
    fitted = replace(job, changes=(*job.changes, Change("fit", "wheel_nuts", "tolland_nuts")))
    made = replace(todo.problem, jobs={**todo.problem.jobs, job.id: fitted})
    parts = {**todo.parts, job.id: (*todo.parts[job.id], "tolland_nuts")}
    todo = replace(todo, problem=made, parts=parts)
    found = shopping(todo, making.plan(), opened=opened)
    nuts = next(item for item in found.items if item.what == "tolland_nuts")
    assert nuts.quantity == 16
    assert price_text(nuts, "AUD") == "64 AUD the set of 16"
    bench = [p for c in cards(opened, todo, making.plan()) for p in c.parts]
    assert [p.count for p in bench if p.id == "tolland_nuts"] == [16]
