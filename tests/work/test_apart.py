"""What else lies open while it is apart, and what may wait for the next opening."""

from __future__ import annotations

from dataclasses import replace
from itertools import chain, combinations

import pytest
import saturdays as sat
from hypothesis import given
from hypothesis import strategies as st

from drybuild.work.apart import moments, while_apart
from drybuild.work.model import Component, Condition, Job, Notes, Renewable, WearItem, Work
from drybuild.work.reach import person_hours, reach
from drybuild.work.wear import Clock, fails_within


def gearbox_out(**more):
    """The gearbox comes out for a clutch: guard, shaft, gearbox, each half an hour to two hours."""
    made = sat.problem(
        components=[
            sat.component("guard", sat.fixed(0.5)),
            sat.component("shaft", sat.fixed(1.0), "guard"),
            sat.component("gearbox", sat.fixed(2.0), "shaft"),
            sat.component("rocker cover", sat.fixed(0.5), region="engine"),
            sat.component("radiator", sat.fixed(1.0), region="nose", causes=("coolant",)),
        ],
        jobs=[sat.job("clutch", sat.fixed(1), "gearbox"), sat.job("mirror", sat.fixed(0.5))],
        effects=[sat.clearing("coolant", sat.fixed(0.75))],
        sessions=[sat.saturday(1, hours=10), sat.saturday(2, hours=10)],
    )
    plan = sat.plan(
        made, ("take:guard", "sat-1", 0, "Ilse"), ("take:shaft", "sat-1", 0.5, "Ilse"),
        ("take:gearbox", "sat-1", 1.5, "Ilse"), ("job:clutch", "sat-1", 3.5, "Ilse"),
        ("refit:gearbox", "sat-1", 4.5, "Ilse"), ("refit:shaft", "sat-1", 6.5, "Ilse"),
        ("refit:guard", "sat-1", 7.5, "Ilse"), ("job:mirror", "sat-2", 0, "Ilse"),
    )  # fmt: skip
    return sat.todo(made, **more), plan


def wears(name, *needs, hours=0.5, km=150_000.0, **more):
    return WearItem(name, name, sat.job(name, sat.fixed(hours), *needs, price=60.0), km=km, **more)


BEARING = wears("release bearing", "gearbox", hours=0.25)
SEAL = wears("rear main seal", "gearbox", km=400_000.0)
THERMOSTAT = wears("thermostat", "radiator")
KNOWN = {"odometer": 140_000.0, "yearly": 15_000.0, "age": 11.0, "labour_rate": 70.0}


def found(*items, hour=None, years=5.0, **more):
    todo, plan = gearbox_out(**{**KNOWN, **more})
    return while_apart(todo, plan, wear={i.id: i for i in items}, hour=hour, years=years)


# hours now against later --------------------------------------------------------------------


def test_now_it_costs_its_own_hours_and_later_the_whole_way_in():
    (seen,) = found(BEARING).found
    assert seen.own == seen.now == 0.25
    # guard, shaft and gearbox, off and on again
    assert seen.later == pytest.approx(0.25 + 2 * (0.5 + 1.0 + 2.0))
    assert seen.shared == pytest.approx(7.0)
    assert set(seen.open) == {"guard", "shaft", "gearbox"}
    assert (seen.besides, seen.session) == ((), "sat-1")


def test_what_lies_elsewhere_is_not_spoken_of():
    assert found(THERMOSTAT, wears("rocker seal", "rocker cover")).found == ()


def test_what_is_nearly_open_costs_the_rest_of_the_way():
    under = wears("selector seal", "box lid")
    lid = sat.component("box lid", sat.fixed(0.25), "shaft")
    todo, plan = gearbox_out(**KNOWN)
    made = replace(todo.problem, components={**todo.problem.components, "box lid": lid})
    (seen,) = while_apart(replace(todo, problem=made), plan, wear={under.id: under}).found
    assert seen.besides == ("box lid",)
    assert seen.now == pytest.approx(0.5 + 2 * 0.25)
    assert set(seen.open) == {"guard", "shaft"}
    assert seen.shared == pytest.approx(2 * (0.5 + 1.0))


def test_what_is_mostly_closed_is_not_while_apart():
    todo, plan = gearbox_out(**KNOWN)
    lid = sat.component("box lid", sat.fixed(1.75), "shaft")
    made = replace(todo.problem, components={**todo.problem.components, "box lid": lid})
    under = {"seal": wears("selector seal", "box lid")}
    # guard and shaft are open, three hours of the way; the lid takes three and a half
    assert while_apart(replace(todo, problem=made), plan, wear=under).found == ()


def test_coolant_that_is_out_anyway_need_not_be_filled_twice():
    todo, _ = gearbox_out(**KNOWN)
    job = sat.job("hose", sat.fixed(1), "radiator", causes=())
    made = replace(todo.problem, jobs={**todo.problem.jobs, "hose": job})
    plan = sat.plan(
        made, ("take:radiator", "sat-1", 0, "Ilse"), ("job:hose", "sat-1", 1, "Ilse"),
        ("refit:radiator", "sat-1", 2, "Ilse"), ("clear:coolant", "sat-1", 3, "Ilse"),
    )  # fmt: skip
    notes = {
        "refit:radiator": Notes("on", renew=(Renewable("ring", 2, price=1.5),)),
        "clear:coolant": Notes("fill", renew=(Renewable("coolant", 4, "L", 6.0),)),
    }
    (seen,) = while_apart(
        replace(todo, problem=made, notes=notes), plan, wear={"t": THERMOSTAT}
    ).found
    assert seen.now == 0.5
    assert seen.later == pytest.approx(0.5 + 2.0 + 0.75)
    assert (seen.renew_now, seen.renew_later) == (0.0, 27.0)


def test_a_session_without_the_tool_is_no_occasion():
    pressed = WearItem("bush", "bush", replace(
        BEARING.job, id="bush", work=replace(
            BEARING.job.work,
            needs=(*BEARING.job.work.needs, ((Condition("tool", "press"),),)),
        )), km=1e5)  # fmt: skip
    assert found(pressed).found == ()
    todo, plan = gearbox_out(**KNOWN)
    made = replace(todo.problem, sessions=(
        sat.saturday(1, hours=10, tools=("press",)), todo.problem.sessions[1],
    ))  # fmt: skip
    (seen,) = while_apart(replace(todo, problem=made), plan, wear={"bush": pressed}).found
    assert seen.session == "sat-1"


def test_what_the_plan_does_anyway_is_left_out():
    assert found(wears("clutch", "gearbox")).found == ()


def test_what_a_job_renews_on_the_way_is_left_out():
    disc = wears("clutch disc", "gearbox")
    assert found(disc).found
    assert found(replace(disc, done_by=("clutch",))).found == ()


def test_what_the_plan_buys_anyway_is_not_offered():
    item = replace(BEARING, title="release bearing and fork of the clutch")
    todo, plan = gearbox_out(**KNOWN)
    for words, offered in (("fork of the release bearing", False), ("fork of the pedal", True)):
        notes = {"refit:gearbox": Notes("gearbox on", renew=(Renewable(words),))}
        seen = while_apart(replace(todo, notes=notes), plan, wear={item.id: item})
        assert bool(seen.found) is offered, words


def test_a_session_with_room_goes_before_one_without():
    todo, _ = gearbox_out(**KNOWN)
    made = replace(todo.problem, sessions=(
        sat.saturday(1, hours=4.5, people=("Ilse",)), todo.problem.sessions[1],
    ))  # fmt: skip
    rows = (
        ("take:guard", "sat-1", 0, "Ilse"), ("take:shaft", "sat-1", 0.5, "Ilse"),
        ("take:gearbox", "sat-1", 1.5, "Ilse"), ("job:clutch", "sat-1", 3.5, "Ilse"),
        ("refit:gearbox", "sat-2", 0, "Ilse"), ("refit:shaft", "sat-2", 2, "Ilse"),
        ("refit:guard", "sat-2", 3, "Ilse"), ("job:mirror", "sat-2", 4, "Ilse"),
    )  # fmt: skip
    through = wears("shaft joint", "shaft")
    (seen,) = while_apart(
        replace(todo, problem=made), sat.plan(made, *rows), wear={"joint": through}
    ).found
    assert (seen.session, seen.fits) == ("sat-2", True)


def test_the_car_between_steps_is_open_from_the_end_of_taking_to_the_start_of_refitting():
    todo, plan = gearbox_out()
    seen = list(moments(todo.problem, plan))
    assert max(len(m.off) for m in seen) == 3
    assert {m.session for m in seen if "gearbox" in m.off} == {"sat-1"}
    assert seen[-1].off == frozenset()


# chance and saving ----------------------------------------------------------------------------


def test_the_saving_is_the_chance_times_later_less_now():
    (seen,) = found(BEARING).found
    old = fails_within(3.0, [Clock(150_000.0, 140_000.0, 75_000.0)])
    new = fails_within(3.0, [Clock(150_000.0, 0.0, 75_000.0)])
    assert seen.wanted.middle == pytest.approx(old)
    assert seen.new_wanted == pytest.approx(new)
    later, now = 70 * 7.25 + 60, 70 * 0.25 + 60
    assert seen.saving.middle == pytest.approx((old - new) * later - now)
    assert seen.saving_hours.middle == pytest.approx((old - new) * 7.25 - 0.25)
    assert seen.wanted.low < seen.wanted.middle < seen.wanted.high
    assert seen.saving.low <= seen.saving.middle <= seen.saving.high
    assert seen.pays


def test_what_is_worth_most_comes_first():
    ranked = found(SEAL, BEARING, wears("fork", "gearbox", km=None), THERMOSTAT)
    assert [item.what for item in ranked.found] == ["release bearing", "rear main seal", "fork"]
    fork = ranked.found[-1]
    assert fork.wanted is fork.saving is fork.saving_hours is None
    assert not fork.pays


def test_what_was_renewed_lately_is_better_left():
    fresh = replace(BEARING, renewed_km=130_000.0)
    (seen,) = found(fresh).found
    assert seen.saving.middle < 0
    assert not seen.pays


def test_damage_makes_it_worth_more():
    (plain,), (dear,) = found(SEAL).found, found(replace(SEAL, damage=5000.0)).found
    assert dear.saving.middle > plain.saving.middle
    assert dear.saving_hours == plain.saving_hours


def test_without_the_price_of_an_hour_hours_are_ranked():
    ranked = found(SEAL, BEARING, labour_rate=None)
    assert ranked.hour is None
    assert all(item.saving is None for item in ranked.found)
    assert [item.what for item in ranked.found] == ["release bearing", "rear main seal"]
    assert found(BEARING, labour_rate=None, hour=40.0).found[0].saving is not None


def test_a_part_without_a_price_is_not_taken_for_free():
    gift = replace(BEARING, job=replace(BEARING.job, price=0.0))
    (seen,) = found(gift).found
    assert seen.part is None
    assert seen.saving is None
    assert seen.saving_hours is not None


def test_what_nobody_said_is_said():
    ranked = found(BEARING, odometer=None, yearly=None, age=None)
    assert ranked.assumed == ("age", "distance", "distance a year")
    assert ranked.found[0].wanted is None
    by_age = found(replace(BEARING, years=12.0), odometer=None)
    assert by_age.assumed == ("distance",)
    assert by_age.found[0].wanted is not None


def test_further_jobs_may_be_asked_after():
    todo, plan = gearbox_out(**KNOWN)
    mount = sat.job("gearbox mount", sat.fixed(0.5), "shaft")
    ranked = while_apart(todo, plan, wear={}, others={"gearbox mount": mount})
    (seen,) = ranked.found
    assert (seen.what, seen.wanted, seen.source) == ("gearbox mount", None, "")
    assert ranked.of("sat-1") == ranked.found
    assert ranked.of("sat-2") == ()


def test_spare_hours_tell_whether_it_fits():
    (seen,) = found(wears("synchro rings", "gearbox", hours=15.0)).found
    assert seen.spare == pytest.approx(2 * 10 - 8.0)
    assert not seen.fits
    assert found(BEARING).found[0].fits


def test_looking_back_is_refused():
    with pytest.raises(ValueError, match="above 0"):
        found(BEARING, years=0.0)


@given(st.floats(0, 4e5), st.floats(1e3, 4e5), st.floats(1e3, 4e5), st.floats(1.0, 5.0))
def test_more_behind_it_never_lasts_longer(one, more, life, shape):
    fresh = fails_within(shape, [Clock(life, one, 5e4)])
    old = fails_within(shape, [Clock(life, one + more, 5e4)])
    assert 0.0 <= fresh <= old + 1e-9
    assert old <= 1.0


# what may wait ------------------------------------------------------------------------------------


def test_a_job_that_shares_no_opening_may_wait():
    todo, plan = gearbox_out()
    waiting = {w.what: w for w in while_apart(todo, plan).may_wait}
    assert waiting["mirror"].frees == 0.5
    # the clutch is what the gearbox comes out for: waiting costs it nothing more
    assert waiting["clutch"].frees == pytest.approx(8.0)
    assert waiting["clutch"].loses == 0.0


def test_a_job_that_shares_an_opening_does_not_wait():
    todo, plan = gearbox_out()
    made = todo.problem
    two = replace(made, jobs={**made.jobs, "seal": sat.job("seal", sat.fixed(0.5), "gearbox")})
    rows = [(s.key, s.session, (s.start - made.session(s.session).start) / 4, *s.who)
            for s in plan.steps]  # fmt: skip
    both = sat.plan(two, *rows, ("job:seal", "sat-1", 3.5, "Marten"))
    assert {w.what for w in while_apart(sat.todo(two), both).may_wait} == {"mirror"}


def test_a_later_session_that_opens_it_anyway_is_named():
    made = sat.problem(
        components=[sat.component("guard", sat.fixed(0.5))],
        jobs=[sat.job("one", sat.fixed(1), "guard"), sat.job("other", sat.fixed(1), "guard")],
    )
    rows = [
        row
        for job, session in (("one", "sat-1"), ("other", "sat-2"))
        for row in (
            ("take:guard", session, 0, "Ilse"), (f"job:{job}", session, 0.5, "Ilse"),
            ("refit:guard", session, 1.5, "Ilse"),
        )
    ]  # fmt: skip
    waiting = {w.what: w for w in while_apart(sat.todo(made), sat.plan(made, *rows)).may_wait}
    assert (waiting["one"].better, waiting["one"].saves) == ("sat-2", 1.0)
    assert waiting["other"].better == ""


def test_what_others_wait_for_or_what_is_fixed_never_waits():
    todo, plan = gearbox_out()
    jobs = {n: replace(j, fixed=True) for n, j in todo.problem.jobs.items()}
    assert while_apart(replace(todo, problem=replace(todo.problem, jobs=jobs)), plan).may_wait == ()


# the cheapest way in ----------------------------------------------------------------------


def brute_force(problem, job):
    """Every set of components that is closed under access and opens the job; the cheapest."""
    names = list(problem.components)
    best = None
    for chosen in chain.from_iterable(combinations(names, n) for n in range(len(names) + 1)):
        taken = set(chosen)
        works = [job.work]
        for name in chosen:
            works += [problem.components[name].take, problem.components[name].refit]
        held = all(
            any(all(c.name in taken for c in way) for way in r) for w in works for r in w.needs
        )
        cost = sum(person_hours(problem.components[n].take) * 2 for n in chosen)
        if held and (best is None or cost < best - 1e-9):
            best = cost
    return best


@st.composite
def access(draw):
    """Seven components, each behind earlier ones by all-of and any-of."""
    count = 7
    comps = []
    for k in range(count + 1):
        needs = []
        for _ in range(draw(st.integers(0, 2)) if k else 0):
            ways = draw(
                st.lists(
                    st.lists(st.integers(0, k - 1), min_size=1, max_size=2, unique=True),
                    min_size=1, max_size=3,
                )
            )  # fmt: skip
            needs.append(tuple(tuple(Condition("off", str(n)) for n in way) for way in ways))
        hours = sat.fixed(draw(st.integers(1, 9)) / 4)
        comps.append(Work(hours, needs=tuple(needs)))
    job = Job("job", "job", "fit", "", comps[-1])
    made = [
        Component(str(k), str(k), "", w, replace(w, needs=())) for k, w in enumerate(comps[:-1])
    ]
    return sat.problem(components=made), job


@given(access())
def test_the_cheapest_way_is_the_cheapest_of_all_ways(case):
    problem, job = case
    way = reach(problem, job)
    assert way is not None
    assert way.exact
    assert way.hours == pytest.approx(brute_force(problem, job))


def test_no_way_is_said():
    todo, _ = gearbox_out()
    wants_on = replace(
        BEARING.job,
        work=Work(sat.fixed(1), needs=(*sat.off("gearbox"), ((Condition("on", "shaft"),),))),
    )
    assert reach(todo.problem, wants_on) is None
    assert reach(todo.problem, BEARING.job, off=("gearbox", "shaft", "guard")).components == ()
    lift = replace(BEARING.job, work=Work(sat.fixed(1), needs=(((Condition("tool", "lift"),),),)))
    assert reach(todo.problem, lift, tools=frozenset()) is None
    assert reach(todo.problem, lift, tools=frozenset({"lift"})).hours == 0.0
    drives = replace(BEARING.job, work=Work(sat.fixed(1), needs=(((Condition("use", "drive"),),),)))
    assert reach(todo.problem, drives, off=("guard",)) is None
    assert reach(todo.problem, drives).hours == 0.0


def test_the_shorter_of_two_ways_is_taken_and_shared_parts_are_paid_once():
    ways = (((Condition("off", "a"),), (Condition("off", "b"),)),)
    made = sat.problem(
        components=[
            sat.component("a", sat.fixed(1.0)), sat.component("b", sat.fixed(0.75)),
            sat.component("c", sat.fixed(0.25), "a"),
        ]
    )  # fmt: skip
    cheap = Job("x", "x", "fit", "", Work(sat.fixed(1), needs=ways))
    assert reach(made, cheap).components == ("b",)
    both = Job("y", "y", "fit", "", Work(sat.fixed(1), needs=(*ways, *sat.off("c"))))
    assert set(reach(made, both).components) == {"a", "c"}
    assert reach(made, both).hours == pytest.approx(2.5)
    assert reach(made, cheap, off=("a",)).hours == 0.0


# what is written down ------------------------------------------------------------------------


def test_what_was_shut_again_lies_open_no_more():
    """Once the gearbox is written down as back on, nothing behind it is offered at that opening."""
    todo, plan = gearbox_out(**KNOWN)
    wear = {BEARING.id: BEARING}
    steps = plan.steps
    assert while_apart(todo, plan, wear=wear, over=steps[:4]).of("sat-1")
    assert while_apart(todo, plan, wear=wear, over=steps[:7]).found == ()
    now, *_ = moments(todo.problem, plan, steps[:3])
    assert (now.session, now.off) == ("sat-1", {"guard", "shaft", "gearbox"})
    waits = {one.what for one in while_apart(todo, plan, wear={}).may_wait}
    left = {one.what for one in while_apart(todo, plan, wear={}, over=steps[:4]).may_wait}
    assert left == waits - {"clutch"}
