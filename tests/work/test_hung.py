"""Tags hang from the work that makes it true to the work that ends it, and each is printed."""

from __future__ import annotations

import re
from dataclasses import replace

import making_todo as making
import pytest
import saturdays as sat

from drybuild.show.cards_paper import contents
from drybuild.show.cards_text import card_text, tags_text
from drybuild.show.tag_words import group_text, hang_lines
from drybuild.work.hung import FOR_A_MAP, STILL, Hung, ended_by, hung, together
from drybuild.work.library import load, outlines
from drybuild.work.model import Clause, Condition, Notes, Work
from drybuild.work.sheets import sheets

OPEN, OFF = "DO NOT DRIVE: brakes open", "DO NOT START: rail off"


def made(*, uses=False):
    run = (((Condition("use", "run"),),),) if uses else ()
    problem = sat.problem(
        components=[sat.component("rail", sat.fixed(1))],
        effects=[sat.clearing("open", sat.fixed(1))],
        jobs=[
            sat.job("caliper", sat.fixed(1), causes=("open",)),
            sat.job("hose", sat.fixed(1), causes=("open",)),
            replace(sat.job("map", sat.fixed(1)), work=Work(sat.fixed(1), needs=run)),
        ],
    )
    notes = {
        "take:rail": Notes("rail off", tags=(OFF,)),
        "clear:open": Notes("bled", tags=(OPEN,)),
        "job:caliper": Notes("caliper", tags=(OPEN, "MAP: another")),
    }
    return sat.todo(problem, notes=notes)


def keyed(found: tuple[Hung, ...]):
    return [(h.line, h.by and h.by.key, h.until and h.until.key) for h in found]


def test_a_tag_hangs_from_its_cause_and_comes_down_with_what_ends_it():
    todo = made()
    plan = sat.plan(
        todo.problem, ("take:rail", "sat-1", 0, "Ilse"), ("job:caliper", "sat-1", 1, "Ilse"),
        ("job:hose", "sat-1", 2, "Ilse"), ("clear:open", "sat-1", 3, "Ilse"),
        ("refit:rail", "sat-1", 4, "Ilse"), ("take:rail", "sat-2", 0, "Ilse"),
    )  # fmt: skip
    assert keyed(hung(todo, plan)) == [
        (OFF, "take:rail", "refit:rail"),
        ("MAP: another", "job:caliper", "clear:open"),
        (OPEN, "job:caliper", "clear:open"),  # once, though the hose opens it again meanwhile
        (OFF, "take:rail", None),
    ]


def test_what_is_owed_since_before_and_by_a_later_task_has_its_tag_hung_there_all_the_same():
    """It may be owed by a task whose card did not hang it: that of another did, and is not done."""
    todo = made()
    todo = replace(todo, problem=replace(todo.problem, pending=frozenset({"open"})))
    rows = (("job:hose", "sat-1", 2, "Ilse"), ("clear:open", "sat-1", 3, "Ilse"))
    assert keyed(hung(todo, sat.plan(todo.problem, *rows))) == [(OPEN, "job:hose", "clear:open")]
    assert keyed(hung(todo, sat.plan(todo.problem, rows[1]))) == [(OPEN, None, "clear:open")]


def test_the_first_work_that_uses_the_car_takes_a_jobs_tag_down():
    """Nothing stops the use by then: neither the map nor anything else that the tag warned of."""
    todo = made(uses=True)
    plan = sat.plan(
        todo.problem, ("job:caliper", "sat-1", 0, "Ilse"), ("clear:open", "sat-1", 1, "Ilse"),
        ("job:map", "sat-1", 2, "Ilse"),
    )  # fmt: skip
    assert ("MAP: another", "job:caliper", "job:map") in keyed(hung(todo, plan))


def test_a_tag_that_waits_for_a_map_comes_down_when_that_is_written():
    """The first work that uses the engine is the first start: the tag would forbid what it asks."""
    todo = made()
    line = "DO NOT CRANK: map expects other injectors"
    run = Work(sat.fixed(1), needs=(((Condition("use", "run"),),),))
    jobs = {**todo.problem.jobs, "start": replace(sat.job("start", sat.fixed(1)), work=run)}
    parts, new = frozenset({"caliper"}), frozenset({"map"})
    clause = Clause("run", parts, new, "the map expects other parts")
    problem = replace(todo.problem, jobs=jobs, clauses=(clause,))
    notes = {**todo.notes, "job:caliper": Notes("caliper", tags=(line, "MAP: another"))}
    plan = sat.plan(
        problem, ("job:caliper", "sat-1", 0, "Ilse"), ("clear:open", "sat-1", 1, "Ilse"),
        ("job:map", "sat-1", 2, "Ilse"), ("job:start", "sat-1", 3, "Ilse"),
    )  # fmt: skip
    found = keyed(hung(sat.todo(problem, notes=notes), plan))
    assert (line, "job:caliper", "job:map") in found
    assert ("MAP: another", "job:caliper", "job:start") in found
    no_map = replace(plan, steps=tuple(s for s in plan.steps if s.what != "map"))
    assert (line, "job:caliper", "job:start") in keyed(
        hung(sat.todo(problem, notes=notes), no_map)
    )


def test_what_is_open_before_the_plan_hangs_already():
    todo = made()
    todo = replace(todo, problem=replace(todo.problem, pending=frozenset({"open"})))
    plan = sat.plan(todo.problem, ("clear:open", "sat-1", 0, "Ilse"))
    assert keyed(hung(todo, plan)) == [(OPEN, None, "clear:open")]


@pytest.fixture(scope="module")
def paper(opened, lessons):
    return sheets(opened, making.todo(), making.plan(), lessons=lessons)


def test_each_tag_that_a_card_asks_for_is_printed_and_taken_down_by_the_card_that_ends_it(paper):
    assert paper.hung
    printed = [
        tag["command"] for page in contents(paper, only=("tags",))["pages"] for tag in page["tags"]
    ]
    said = " ".join(tags_text(paper).split())
    for card in paper.cards:
        for line in card.tags:
            command, _, why = line.partition(":")
            assert command in printed
            assert re.search(rf"before card {card.number}: {command}:[^:]*{re.escape(why)}", said)
            assert "hang first" in card_text(card, paper)
        assert not set(card.down) & set(card.tags)
    down = [line for card in paper.cards for line in card.down]
    assert down
    assert all(any(line in card.tags for card in paper.cards) for line in down)


def test_reasons_with_the_same_first_words_that_one_card_hangs_are_one_tag(paper):
    """It comes down with the last of its reasons, not with the first."""
    first, last = paper.cards[0], paper.cards[-1]
    by, ends = first.steps[0], (paper.cards[1].steps[-1], last.steps[-1])
    tags = (
        Hung("DO NOT START: fuel system open", by, ends[0]),
        Hung("DO NOT START: joints not yet looked at", by, ends[1]),
        Hung("NO FLAME: tank open", by, ends[0]),
    )
    made_so = replace(paper, hung=tags, tags=())
    assert hang_lines(first, paper.cards, tags) == [
        f"DO NOT START: fuel system open, until card {paper.cards[1].number}; "
        f"joints not yet looked at, until card {last.number}",
        f"NO FLAME: tank open, until card {paper.cards[1].number}",
    ]
    (page,) = contents(made_so, only=("tags",))["pages"]
    start, flame = page["tags"]
    assert [r["why"] for r in start["reasons"]] == ["fuel system open", "joints not yet looked at"]
    assert start["until"] == f"card {last.number}"
    assert flame["until"] == f"card {paper.cards[1].number}"
    one, other = together(tags, [card.steps for card in paper.cards])
    assert (ended_by(one), ended_by(other)) == (ends[1], ends[0])


def test_a_tag_that_hangs_on_after_the_session_is_that_of_its_end(paper):
    tag = next(t for t in paper.tags if t.place == "on the steering wheel")
    card = next(c for c in paper.cards if c.session == tag.session)
    more = Hung(f"{tag.command}: something else", card.steps[0], None)
    made_so = replace(paper, hung=(more,), tags=(tag,))
    (one,) = (t for page in contents(made_so, only=("tags",))["pages"] for t in page["tags"])
    assert one["since"] == f"before card {card.number}"
    assert len(one["reasons"]) > 1 or one["more"]


def test_who_runs_the_engine_to_let_pressure_off_hangs_its_tag_when_it_is_still():
    """Before it, the tag would forbid the first step of its own card."""
    todo = made()
    rail = todo.problem.components["rail"]
    runs = replace(rail, take=replace(rail.take, engine="runs"))
    for component, once in ((rail, False), (runs, True)):
        problem = replace(todo.problem, components={"rail": component})
        plan = sat.plan(problem, ("take:rail", "sat-1", 0, "Ilse"))
        (tag,) = hung(replace(todo, problem=problem), plan)
        assert tag.once is once
        said = group_text((), (1, "DO NOT START", (tag,)))
        assert said.endswith("(hung once the engine is still, before anything is opened)") is once


def test_the_pump_runs_dry_before_its_tag_hangs():
    for outline in outlines():
        pressure = load(outline).components["fuel_pressure"]
        assert pressure.engine == "runs"
        assert pressure.tags[0].startswith(STILL)


def test_what_is_looked_at_after_so_many_km_is_hung_when_the_work_is_done(paper):
    """Before the card begins there is nothing yet to look at again."""
    effects = {**paper.todo.problem.effects}
    assert not any(tag.after for tag in paper.hung)
    effects["wheels_settle"] = replace(effects["wheels_settle"], between=50.0)
    notes = {**paper.todo.notes}
    line = "TIGHTEN THE WHEELS AGAIN: after 50 to 100 km"
    notes["clear:wheels_settle"] = replace(notes["clear:wheels_settle"], tags=(line,))
    problem = replace(paper.todo.problem, effects=effects)
    todo = replace(paper.todo, problem=problem, notes=notes)
    driven = replace(paper, hung=tuple(t for t in hung(todo, paper.plan) if t.by), tags=())
    (tag,) = [t for t in driven.hung if t.after]
    assert tag.line.startswith("TIGHTEN THE WHEELS")
    card = next(c for c in driven.cards if tag.by in c.steps)
    (line,) = [w for w in hang_lines(card, driven.cards, driven.hung) if w.startswith("TIGHTEN")]
    assert line.endswith("(hung on the steering wheel when the work is done)")
    said = " ".join(tags_text(driven).split())
    assert f"when card {card.number} is done: TIGHTEN THE WHEELS" in said
    pages = contents(driven, only=["tags"])["pages"]
    (printed,) = [t for p in pages for t in p["tags"] if t["command"].startswith("TIGHTEN")]
    assert printed["since"] == f"when card {card.number} is done"
    assert printed["place"] == "on the steering wheel"


def test_every_place_whose_part_waits_for_a_map_says_so_on_its_tag():
    for outline in outlines():
        waiting = {n: table for n, table in load(outline).places.items() if table.map}
        assert "injectors" in waiting
        tags = [tag for table in waiting.values() for tag in table.tags if " map " in tag]
        assert tags
        assert all(FOR_A_MAP in tag for tag in tags)


def test_a_tag_for_who_drives_waits_until_the_car_is_back_on_its_wheels() -> None:
    """What is opened one evening and shut on another day is driven only after that."""
    settle = sat.clearing("settle", sat.fixed(1), between=100.0)
    problem = sat.problem(
        components=[
            sat.component("stands", sat.fixed(1), stops=("move", "drive")),
            sat.component("spring", sat.fixed(1), "stands", causes=("settle",)),
        ],
        effects=[settle],
        jobs=[sat.job("new spring", sat.fixed(1), "spring")],
    )
    line = "GO OVER THE JOINTS: after 100 km"
    todo = sat.todo(problem, notes={"clear:settle": Notes("gone over", tags=(line,))})
    plan = sat.plan(
        problem, ("take:stands", "sat-1", 0, "Ilse"), ("take:spring", "sat-1", 1, "Ilse"),
        ("job:new spring", "sat-2", 0, "Ilse"), ("refit:spring", "sat-2", 1, "Ilse"),
        ("refit:stands", "sat-2", 2, "Ilse"),
    )  # fmt: skip
    (tag,) = [t for t in hung(todo, plan) if t.after]
    assert (tag.line, tag.by and tag.by.key, tag.by and tag.by.session) == (
        line, "refit:stands", "sat-2",
    )  # fmt: skip
    # of work that leaves the car on its wheels it is that work, as before
    short = sat.plan(problem, ("take:spring", "sat-1", 0, "Ilse"))
    (tag,) = [t for t in hung(todo, short) if t.after]
    assert tag.by is not None
    assert tag.by.key == "take:spring"
