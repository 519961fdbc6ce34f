"""Between the sessions of a plan something may want measuring that the finished car does not."""

from __future__ import annotations

from dataclasses import replace

import making_todo as making
import pytest

from drybuild.show.cards_words import why_text
from drybuild.work.on_the_way import MOST_DAYS, on_the_way
from drybuild.work.sheets import sheets
from drybuild.work.standing import Stop


@pytest.fixture(scope="module")
def found(opened, lessons):
    return sheets(opened, making.todo(), making.plan(), lessons=lessons)


def unknown(what, step=None):
    return Stop(("drive",), "check", "nobody has measured it", "look", step, what=what,
                waits_for="measuring")  # fmt: skip


def test_each_check_is_named_at_the_first_session_after_which_it_stops(found, lessons):
    step = next(s for s in found.plan.steps if s.kind == "job")
    one, other = unknown("electrics.pump_drop", step), unknown("fuel.flow")
    known = replace(one, what="fuel.known", waits_for="")
    names = list(found.ends)
    ends = {
        name: replace(found.ends[name], stops=(one, known) if n == 0 else (one, other))
        for n, name in enumerate(names)
    }
    days = on_the_way(replace(found, ends=ends), lessons)
    assert [(day.session, [s.what for s in day.stops]) for day in days] == [
        (names[0], ["electrics.pump_drop"]), (names[1], ["fuel.flow"]),
    ]  # fmt: skip
    assert days[0].by == step
    assert days[1].by is None
    assert len(days) <= MOST_DAYS


def test_what_a_later_job_changes_is_said_to_be_of_what_is_fitted_until_then(found):
    step = next(s for s in found.plan.steps if s.kind == "job")
    assert why_text(unknown("a", step)) == "nobody has measured it (as fitted until then)"
    assert why_text(unknown("a")) == "nobody has measured it"
    assert why_text(replace(unknown("a", step), waits_for="")) == "nobody has measured it"
