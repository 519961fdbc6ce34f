"""Outlook, quote and while-apart in words: what they say and what they never say."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime, timedelta
from types import SimpleNamespace

import pytest
import saturdays as sat

from drybuild.show.cards_words import work_text
from drybuild.show.hours import hours_text, person_hours, two
from drybuild.show.left_now import left_now_text
from drybuild.show.work_apart import apart_text
from drybuild.show.work_list import (
    NO_GAIN,
    NO_PARTS,
    NOT_THERE,
    aim_text,
    idle_text,
    in_time_text,
    little_text,
)
from drybuild.show.work_outlook import chance_text, need_lines, outlook_text
from drybuild.show.work_quote import quote_text, weakest_text
from drybuild.work.apart import while_apart
from drybuild.work.model import Aim, Hours, Notes, Renewable, WearItem
from drybuild.work.risk import Doubts, Left, Worked, learn, quote, simulate

NEVER_SAID = re.compile(r"\b(safe|safely|passed|ok to drive|good to go)\b|!", re.IGNORECASE)


@pytest.fixture(scope="module")
def case():
    made = sat.problem(
        components=[sat.component("guard", sat.fixed(0.5)), sat.component("cover", sat.about(0.5))],
        jobs=[
            sat.job("arm bushes", Hours(1.5, 2.5, 6.0), "guard", region="rear axle", price=120.0),
            sat.job("hose", sat.about(1), "cover", region="engine bay"),
            sat.job("paint", sat.fixed(1), "guard", sessions=("sat-1",), kind="outside"),
        ],
        effects=[sat.clearing("coolant", sat.fixed(0.5), kind="test")],
        sessions=[sat.saturday(1, people=("Ilse",)), sat.saturday(2, people=("Ilse",))],
        needs=[sat.monday(1), sat.monday(2)],
    )
    plan = sat.plan(
        made, ("take:guard", "sat-1", 0, "Ilse"), ("job:arm bushes", "sat-1", 0.5, "Ilse"),
        ("job:paint", "sat-1", 5.5, "Ilse"), ("refit:guard", "sat-1", 6.5, "Ilse"),
        ("take:cover", "sat-1", 7, "Ilse"), ("job:hose", "sat-2", 0, "Ilse"),
        ("refit:cover", "sat-2", 2, "Ilse"),
    )  # fmt: skip
    made = replace(made, needs=(sat.monday(2),))
    notes = {"job:hose": Notes("hose", renew=(Renewable("clamp", 2), Renewable("oil", 1, "L", 9)))}
    wear = {
        "hub": WearItem("hub", "hub bearing", sat.job("hub", sat.about(1), "guard", price=48.0),
                        km=160_000.0),
        "line": WearItem("line", "fuel line", sat.job("line", sat.about(1), "guard"), years=30.0),
        "bush": WearItem("bush", "subframe bush", sat.job("bush", sat.about(1), "guard"),
                         source=""),
    }  # fmt: skip
    todo = sat.todo(
        made, notes=notes, wear=wear, age=14.0, odometer=150_000.0, yearly=12_000.0,
        labour_rate=70.0, currency="AUD",
    )  # fmt: skip
    learned = learn([Worked("job:a", sat.about(1), 1.5, ("Ilse",), "nose")] * 3, age=14.0)
    return todo, plan, simulate(todo, plan, learned=learned)


@pytest.mark.parametrize(
    ("exact", "said"),
    [(29.75, "30"), (104.4, "104"), (9.97, "10"), (9.75, "9.8"), (3.5, "3.5"), (2.0, "2")],
)
def test_a_sum_of_hours_is_said_in_round_figures(exact, said):
    assert person_hours(exact) == f"about {said} person-hours"


def test_a_plan_says_sums_round_and_tasks_by_the_clock(case):
    todo, _, _ = case
    aim = Aim("hours", 29.75, 29.5, "h")
    assert aim_text(todo.problem, aim) == (
        "about 30 person-hours: no plan saves more than 1 % of them"
    )
    assert "none goes below about 28" in aim_text(todo.problem, replace(aim, bound=28.25))
    assert hours_text(2.25) == "2 h 15"


def test_what_may_be_left_undone_is_said_as_the_plan_says_it(case):
    todo, _, outlook = case
    left = Left("refit:cover", "refit: cover", "sat-2", 0.07)
    said = outlook_text(todo, replace(outlook, left=(left,)))
    assert "  refit: cover: 7 in 100" in said
    noted = replace(todo, notes={**todo.notes, "refit:cover": Notes("cover on")})
    said = outlook_text(noted, replace(outlook, left=(left,)))
    assert "  cover on: 7 in 100" in said
    assert "refit:" not in said


def test_the_outlook_says_how_long_and_how_sure(case):
    todo, _, outlook = case
    said = outlook_text(todo, outlook)
    assert f"about {two(outlook.hours.p50)} person-hours, half of such jobs" in said
    assert f"80 in 100 no longer than {two(outlook.hours.p80)}" in " ".join(said.split())
    assert "Mon 14 Dec, 07:00  drive:" in said
    assert "arm bushes: takes longer" in said
    assert "Where a buffer buys the most" in said
    assert "an hour more on Sat 5 Dec" in said
    assert "4,096 times" in said
    assert "Ilse: about" in said
    assert "paint:" in said.split("What may be left undone")[1]


def test_a_task_of_several_days_says_of_which_day_it_is_meant(case):
    todo, _, outlook = case
    need = outlook.needs[0]
    cause = replace(need.causes[0], title="first start")
    twice = [replace(cause, session="sat-1"), replace(cause, session="sat-2")]
    first, second = need_lines(todo, replace(need, causes=tuple(twice)))[1:3]
    assert first.startswith("first start, on Sat 5 Dec: ")
    assert second.startswith("first start, on Sat 12 Dec: ")
    (alone,) = need_lines(todo, replace(need, causes=(twice[1],), regions=()))[1:]
    assert alone.startswith("first start: ")
    (before,) = need_lines(todo, replace(need, causes=(twice[0],), regions=()))[1:]
    assert before.startswith("first start, on Sat 5 Dec: ")


def test_what_makes_a_day_late_says_its_own_day_where_that_is_another(case):
    todo, _, outlook = case
    cause = replace(outlook.needs[0].causes[0], title="first start")
    first, second = outlook.sessions[:2]
    assert (first.session, second.session) == ("sat-1", "sat-2")
    late = replace(second, overrun=0.5, causes=(replace(cause, session="sat-1"),))
    said = " ".join(outlook_text(todo, replace(outlook, sessions=(first, late))).split())
    assert "first start, on Sat 5 Dec: takes longer" in said
    own = replace(second, overrun=0.5, causes=(replace(cause, session="sat-2"),))
    said = " ".join(outlook_text(todo, replace(outlook, sessions=(first, own))).split())
    assert "first start: takes longer" in said


def test_a_plan_that_never_makes_it_says_so(case):
    todo, plan, _ = case
    needed = replace(todo.problem, needs=(sat.monday(1),))  # the cover is off then
    outlook = simulate(sat.todo(needed), plan, draws=64)
    assert not outlook.needs[0].as_planned
    assert "the plan itself does not make it" in outlook_text(sat.todo(needed), outlook)


def test_the_quote_says_what_it_lacks_and_leaves_out(case):
    todo, plan, outlook = case
    said = quote_text(quote(todo, plan, outlook), outlook, todo)
    head = " ".join(said.split("Total")[0].split())
    assert head.startswith(f"Quote · {person_hours(outlook.planned)} as planned; 80 in 100 such")
    assert "all of it done within these work sessions" in head
    assert "Total of what has a price" in said
    lacking = said.split("Without a price")[1]
    assert "Renewables: 2 × clamp" in lacking
    assert "Outside work: paint" in lacking
    assert "taxes and duties" in said.split("Left out")[1]
    assert "1 L oil at 9 AUD" in said
    assert "h at 70 AUD" in said


def test_a_quote_without_one_price_has_no_total(case):
    todo, plan, outlook = case
    made = replace(quote(todo, plan, outlook), lines=())
    said = quote_text(made, outlook, todo)
    assert "Total" not in said
    assert "contingency" not in said
    assert "No price is stated yet, so there is no total" in " ".join(said.split())


def test_a_quote_names_what_is_left_undone_most_often(case):
    todo, _, outlook = case
    left = (Left("road", "road check", "sat-2", 0.1), Left("rack", "rack", "sat-2", 0.4))
    said = weakest_text(todo, replace(outlook, left=left))
    assert said.endswith("left undone most often: rack, 40 in 100")


def test_while_apart_ranks_and_says_why(case):
    todo, plan, _ = case
    said = apart_text(todo, while_apart(todo, plan))
    worth = said.index("Worth doing while it is open")
    unknown = said.index("how long they last is not known")
    hub, bush = said.index("hub bearing (Sat 5 Dec, guard off)"), said.index("subframe bush")
    assert worth < hub < unknown < bush
    assert "better left" in said[unknown:]  # the line lasts thirty years
    flat = " ".join(said.split())
    assert "part: 48 AUD" in flat
    assert "part: price not known" in flat
    assert "Lives are common practice unless said otherwise" in flat
    named = {"hub": replace(todo.wear["hub"], source="the maker's schedule, invented")}
    assert "life: the maker's schedule" in apart_text(todo, while_apart(todo, plan, wear=named))


def test_while_apart_says_what_nobody_stated(case):
    todo, plan, _ = case
    bare = replace(todo, age=None, odometer=None, yearly=None, labour_rate=None)
    said = apart_text(bare, while_apart(bare, plan))
    assert "age and distance are not said" in said
    assert "12,000 km is assumed" in said
    assert "ranked by hours" in said
    nothing = apart_text(todo, while_apart(todo, plan, wear={}))
    assert "nothing else that this build knows of" in nothing


def test_nobody_is_told_that_anything_may_be_done(case):
    todo, plan, outlook = case
    texts = (
        outlook_text(todo, outlook), quote_text(quote(todo, plan, outlook), outlook, todo),
        apart_text(todo, while_apart(todo, plan)),
    )  # fmt: skip
    for said in texts:
        assert not NEVER_SAID.search(said), NEVER_SAID.search(said)
        assert all(len(line) <= 100 for line in said.splitlines())


def test_a_plan_without_doubt_is_said_shortly(case):
    todo, plan, _ = case
    none = replace(todo.problem, needs=())
    outlook = simulate(sat.todo(none), plan, draws=64, doubts=Doubts(stay=0.0))
    said = outlook_text(sat.todo(none), outlook)
    assert "What is needed" not in said
    assert "Where a buffer" not in said


@pytest.mark.parametrize(
    ("figure", "said"), [(0.04, "0"), (0.26, "0.3"), (3.0, "3"), (9.96, "10"), (62.4, "62")]
)
def test_two_figures(figure, said):
    assert two(figure) == said


def test_always_and_never_are_said_of_the_draws_alone():
    assert chance_text(1.0) == "every time in these draws"
    assert chance_text(0.0) == "never in these draws"
    assert chance_text(0.834) == "83 in 100"


def test_a_saving_whose_middle_is_an_end_is_not_said_as_about_the_end() -> None:
    from drybuild.show.work_apart import _saving
    from drybuild.work.apart import Likely

    assert _saving(Likely(3.046, 5.474, 5.474), "h") == "saves about 5.5 h, at least 3.0"
    assert _saving(Likely(0.585, 1.93, 3.772), "h").startswith("saves about 2.0 h, ")


@pytest.mark.parametrize(
    ("likely", "said"),
    [
        ((-0.2, 0.3, 0.4), "saves about 0.3 h: from 0.2 h lost to 0.4 h saved"),
        ((-0.5, -0.3, 0.1), "costs about 0.3 h more: from 0.5 h lost to 0.1 h saved"),
        ((-5.6, -4.1, -3.2), "costs about 4.1 h more, 3.2 to 5.6"),
        ((-5.6, -5.6, -3.2), "costs about 5.6 h more, at least 3.2"),
        ((1.0, 1.0, 4.0), "saves about 1 h, at most 4"),
        ((-2.0, -1.0, 0.0), "costs about 1 h more, 0 to 2"),
        ((-0.2, 0.0, 0.3), "about even: from 0.2 h lost to 0.3 h saved"),
    ],
)
def test_what_is_lost_is_never_a_saving_below_nothing(
    likely: tuple[float, float, float], said: str
) -> None:
    from drybuild.show.work_apart import _saving
    from drybuild.work.apart import Likely

    assert _saving(Likely(*likely), "h") == said


def test_why_a_session_stays_empty_is_said_where_it_is_known() -> None:
    sessions = [sat.saturday(1), sat.saturday(2, people=()), sat.saturday(3), sat.saturday(4)]
    late = sessions[2].start
    made = sat.problem(
        jobs=[sat.job("arms", sat.fixed(1), earliest=late)], sessions=sessions,
    )  # fmt: skip
    plan = sat.plan(made, ("job:arms", "sat-4", 0, "Ilse"))
    best = replace(plan, aims=(Aim("hours", 1.0, 1.0, "h"),))
    assert idle_text(made, best) == (
        f"nothing is planned for Sat 5 Dec ({NO_PARTS}); Sat 12 Dec ({NOT_THERE}); "
        f"Sat 19 Dec ({NO_GAIN})"
    )
    # not shown to be the best, or only near another: nothing is made up
    for aim in (Aim("hours", 1.0, 0.5, "h"), Aim("hours", 1.0, 1.0, "h", near=True)):
        assert NO_GAIN not in idle_text(made, replace(plan, aims=(aim,)))
    # and the parts of one job are there
    more = replace(made, jobs={**made.jobs, "hose": sat.job("hose", sat.fixed(1))})
    assert NO_PARTS not in idle_text(more, best)
    assert idle_text(made, sat.plan(made, *(
        ("job:arms", f"sat-{n}", 0, "Ilse") for n in (1, 2, 3, 4)
    ))) == ""  # fmt: skip


def test_a_session_that_is_nearly_empty_is_named_with_why() -> None:
    sessions = [sat.saturday(1), sat.saturday(2)]
    late = sat.job("arms", sat.fixed(3), earliest=sessions[0].end)
    made = sat.problem(jobs=[sat.job("hose", sat.fixed(0.5)), late], sessions=sessions)
    plan = sat.plan(made, ("job:hose", "sat-1", 0, "Ilse"), ("job:arms", "sat-2", 0, "Ilse"))
    said = little_text(made, plan)
    assert said.startswith("little is planned for Sat 5 Dec, 0.5 of 16 person-hours (the parts of ")
    assert "Sat 12 Dec, 3 of 16 person-hours" in said
    full = sat.plan(made, *(("job:hose", f"sat-{n}", q / 2, "Ilse") for n in (1, 2)
                            for q in range(16)))  # fmt: skip
    assert little_text(made, full) == ""


@pytest.mark.parametrize(
    ("tasks", "said"),
    [
        ([(4, 1, 0.0)], "1 h"),
        ([(1, 2, 0.0)], "15 min, two at it"),
        ([(4, 1, 0.0), (1, 2, 0.0), (2, 1, 1.0)], "1 h 45, two at it for 15 min"),
        ([(0, 0, 1.5)], "1 h 30"),
    ],
)
def test_the_work_of_a_card_is_said_by_the_clock(tasks, said):
    """Quarters, how many at it, and what waits: it adds up to the time that the hands have it."""
    begun = datetime(2026, 12, 5, 9)
    made = [
        SimpleNamespace(
            start=begun, end=begun + timedelta(minutes=15 * quarters), who=("A", "B")[:count],
            wait=wait,
        )
        for quarters, count, wait in tasks
    ]  # fmt: skip
    assert work_text(SimpleNamespace(tasks=made)) == said


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.999, "very likely, more than 9 in 10"), (0.76, "likely, about 8 in 10"),
        (0.5, "as likely as not, about 5 in 10"), (0.2, "unlikely, about 2 in 10"),
        (0.01, "very unlikely, less than 1 in 10"),
    ],
)  # fmt: skip
def test_whether_a_session_is_over_in_time_is_said_in_tenths(case, chance, said):
    problem = case[0].problem
    day = problem.session("sat-1")
    assert in_time_text(problem, day, chance) == f"done by 17:00: {said}"


def test_what_is_left_of_a_plan_is_said_from_the_first_tick_on(case):
    problem, plan = case[0].problem, case[1]
    whole = sum(len(s.who) * (s.end - s.start) for s in plan.steps) / 4
    first = plan.steps[0]
    spent = len(first.who) * (first.end - first.start) / 4
    assert left_now_text(problem, plan, (), {}) == ""
    assert left_now_text(problem, plan, plan.steps, {}) == ""
    said = left_now_text(problem, plan, plan.steps[:1], {})
    assert said.startswith(f"left: about {two(whole - spent)} of {two(whole)} person-hours; ")
    assert said.endswith("it ends on Sat 12 Dec")
    late = left_now_text(problem, plan, plan.steps[:1], {}, late=True)
    assert late.endswith("the plan ends on Sat 12 Dec, and no longer holds: plan again")
    # once the last day's work is done, it ends on the day before it
    early = left_now_text(problem, plan, plan.of("sat-2"), {})
    assert early.endswith("it ends on Sat 5 Dec")
    # what was begun counts with what it still wants
    begun = plan.steps[1]
    stopped = {begun.key: SimpleNamespace(left=0.25)}
    spared = (begun.end - begun.start) / 4 - 0.25
    assert left_now_text(problem, plan, (), stopped).startswith(
        f"left: about {two(whole - spared * len(begun.who))} of"
    )
