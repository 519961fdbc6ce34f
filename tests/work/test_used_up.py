"""What is fitted once takes one set of what is new every time; opened again it takes another."""

from __future__ import annotations

import saturdays as sat

from drybuild.work.drafts import _renewed
from drybuild.work.model import Notes, Plan, Renewable, ToDo
from drybuild.work.used_up import used_up

SEALS, NUTS = Renewable("seals", 8), Renewable("top nuts", 2)


def made(*rows: tuple, notes: dict, off=()) -> tuple[ToDo, Plan]:
    parts = [sat.component(n, sat.fixed(0.5), region=r) for n, r in (
        ("rail", "engine"), ("strut", "front corners"), ("caliper", "front corners"),
    )]  # fmt: skip
    jobs = [sat.job("injectors", sat.fixed(1), "rail", region="intake side")]
    corners = {"region": "front corners"}
    jobs += [sat.job(n, sat.fixed(1), "strut", **corners) for n in ("spring", "damper")]
    jobs += [sat.job("hose", sat.fixed(1), **corners)]
    jobs += [sat.job("lines", sat.fixed(1), "rail")]
    problem = sat.problem(components=parts, jobs=jobs, off=frozenset(off))
    return sat.todo(problem, notes=notes), sat.plan(problem, *rows)


def told(*rows: tuple, notes: dict, off=()) -> dict[str, list[float]]:
    """Key of each step → how much it uses, where it uses any."""
    todo, plan = made(*rows, notes=notes, off=off)
    found: dict[str, list[float]] = {}
    for step, used in used_up(todo, plan).items():
        found.setdefault(step.key, []).extend(one.quantity for one in used)
    return {key: many for key, many in found.items() if many}


def words(*names: str, one: Renewable, joints=()) -> dict[str, Notes]:
    return {name: Notes(name, renew=(one,), joints=joints) for name in names}


INJECTORS = (
    ("take:rail", "sat-1", 0, "Ilse"), ("job:injectors", "sat-1", 1, "Ilse"),
    ("refit:rail", "sat-1", 3, "Ilse"),
)  # fmt: skip


def test_new_injectors_take_one_set_of_seals_where_the_rail_goes_on():
    notes = words("job:injectors", "refit:rail", one=SEALS)
    assert told(*INJECTORS, notes=notes) == {"refit:rail": [8]}
    assert told(*INJECTORS[1:], notes=notes, off={"rail"}) == {"refit:rail": [8]}


def test_what_the_job_asks_for_beyond_that_stays_on_its_card():
    notes = words("job:injectors", one=SEALS) | words("refit:rail", one=Renewable("seals", 6))
    assert told(*INJECTORS, notes=notes) == {"job:injectors": [2], "refit:rail": [6]}


def test_what_is_opened_on_another_day_takes_a_set_again():
    again = (("take:rail", "sat-2", 0, "Ilse"), ("refit:rail", "sat-2", 3, "Ilse"))
    notes = words("job:injectors", "refit:rail", one=SEALS)
    assert told(*INJECTORS, *again, notes=notes) == {"refit:rail": [8, 8]}


def test_a_job_with_nothing_to_close_after_it_keeps_its_own():
    notes = words("job:injectors", one=SEALS)
    assert told(*INJECTORS, notes=notes) == {"job:injectors": [8]}


def test_two_jobs_share_what_closes_once():
    """Each of them asks for 8; the rail closes with 8, and the other eight are somewhere else."""
    rows = (*INJECTORS[:2], ("job:lines", "sat-1", 2, "Ilse"), INJECTORS[2])
    notes = words("job:injectors", "job:lines", "refit:rail", one=SEALS)
    assert told(*rows, notes=notes) == {"job:lines": [8], "refit:rail": [8]}


STRUT = (
    ("take:strut", "sat-1", 0, "Ilse"), ("job:spring", "sat-1", 1, "Ilse"),
    ("job:damper", "sat-1", 2, "Ilse"), ("refit:strut", "sat-1", 3, "Ilse"),
)  # fmt: skip


def test_the_nut_that_spring_and_damper_both_tighten_is_renewed_once_in_one_opening():
    notes = words("job:spring", "job:damper", one=NUTS, joints=("damper rod top nut",))
    assert told(*STRUT, notes=notes) == {"job:spring": [2]}
    later = (*STRUT[:2], ("refit:strut", "sat-1", 3, "Ilse"), ("take:strut", "sat-2", 0, "Ilse"),
             ("job:damper", "sat-2", 1, "Ilse"), ("refit:strut", "sat-2", 2, "Ilse"))  # fmt: skip
    assert told(*later, notes=notes) == {"job:spring": [2], "job:damper": [2]}
    other = words("job:spring", "job:damper", one=NUTS)
    assert told(*STRUT, notes=other) == {"job:spring": [2], "job:damper": [2]}


def test_the_hose_whose_caliper_is_off_just_then_takes_its_washers_with_the_caliper():
    notes = words("job:hose", "refit:caliper", one=Renewable("hose washers", 4))
    rows = (("take:caliper", "sat-1", 0, "Ilse"), ("job:hose", "sat-1", 1, "Ilse"),
            ("refit:caliper", "sat-1", 3, "Ilse"))  # fmt: skip
    assert told(*rows, notes=notes) == {"refit:caliper": [4]}
    before = (("job:hose", "sat-1", 0, "Ilse"), ("take:caliper", "sat-1", 1, "Ilse"), rows[2])
    assert told(*before, notes=notes) == {"job:hose": [4], "refit:caliper": [4]}


def test_one_job_for_spring_and_damper_renews_their_nut_once_at_each_end():
    spring = Notes("spring", renew=(NUTS,), joints=("damper rod top nut",))
    damper = Notes("damper", renew=(NUTS, SEALS), joints=("damper rod top nut", "damper bolts"))
    front, rear = "front corners", "rear corners"
    shares = [(spring, front), (damper, front), (spring, rear), (damper, rear)]
    assert list(_renewed(shares)) == [NUTS, SEALS, NUTS, SEALS]
    lines = Notes("line", renew=(Renewable("clips", 12),))
    assert [r.quantity for r in _renewed([(lines, "under"), (lines, "under")])] == [12, 12]
