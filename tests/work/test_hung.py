"""Tags hang from the work that makes it true to the work that ends it, and each is printed."""

from __future__ import annotations

from dataclasses import replace

import making_todo as making
import pytest
import saturdays as sat

from drybuild.show.cards_paper import contents
from drybuild.show.cards_text import card_text, tags_text
from drybuild.work.hung import Hung, hung
from drybuild.work.model import Condition, Notes, Work
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


def test_the_first_work_that_uses_the_car_takes_a_jobs_tag_down():
    """Nothing stops the use by then: neither the map nor anything else that the tag warned of."""
    todo = made(uses=True)
    plan = sat.plan(
        todo.problem, ("job:caliper", "sat-1", 0, "Ilse"), ("clear:open", "sat-1", 1, "Ilse"),
        ("job:map", "sat-1", 2, "Ilse"),
    )  # fmt: skip
    assert ("MAP: another", "job:caliper", "job:map") in keyed(hung(todo, plan))


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
            assert line.partition(":")[0] in printed
            assert f"before card {card.number}: {line}" in said
            assert "hang first" in card_text(card, paper)
        assert not set(card.down) & set(card.tags)
    down = [line for card in paper.cards for line in card.down]
    assert down
    assert all(any(line in card.tags for card in paper.cards) for line in down)
