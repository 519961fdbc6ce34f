"""A fluid that was chosen as a part is bought once, and has one name on every card."""

from __future__ import annotations

from saturdays import fixed, job, plan, problem, todo

from drybuild.build.state import Change
from drybuild.work.model import Notes, Plan, Renewable, ToDo
from drybuild.work.poured import named_so, poured
from drybuild.work.risk.quoting import _Money, _renewables
from drybuild.work.shopping import shopping

CAN = Renewable("brake fluid, sealed can", 1.0, "L")


def _made(*days: str, target: str = "brake_fluid") -> tuple[ToDo, Plan]:
    """The fluid is fitted on the first day, the can is wanted on each."""
    fluid = job("fluid", fixed(1.0), changes=(Change("fit", target, "quern_fluid"),))
    jobs = [fluid, *(job(f"bleed-{day}", fixed(1.0)) for day in days)]
    made = problem(jobs=jobs)
    rows = [("job:fluid", "sat-1", 0.0, "Ilse")]
    rows += [(f"job:bleed-{day}", day, 2.0, "Ilse") for day in days]
    notes = {f"job:bleed-{day}": Notes("brakes bled", renew=(CAN,)) for day in days}
    return todo(made, notes=notes, parts={"fluid": ("quern_fluid",)}), plan(made, *rows)


def test_the_chosen_fluid_is_the_can_that_the_bleeding_wants():
    made, done = _made("sat-1")
    assert poured(made, done) == {CAN.name: "quern_fluid"}
    (line,) = shopping(made, done).items
    assert (line.what, line.quantity, line.unit) == ("quern_fluid", 1.0, "L")
    assert list(_renewables(made, done, _Money("AUD"))) == []


def test_cards_name_the_fluid_that_was_chosen():
    (line, nuts) = named_so((CAN, Renewable("nut", 4)), {CAN.name: "Quern brake fluid"})
    assert (line.name, line.quantity, line.unit) == ("Quern brake fluid", 1.0, "L")
    assert nuts == Renewable("nut", 4)


def test_a_bleeding_on_another_day_wants_a_can_of_its_own():
    """One that was opened weeks ago has drawn water."""
    made, done = _made("sat-1", "sat-2")
    assert poured(made, done) == {}
    assert {line.what for line in shopping(made, done).items} == {"quern_fluid", CAN.name}
    (left,) = _renewables(made, done, _Money("AUD"))
    assert (left.title, left.quantity) == (CAN.name, 2.0)


def test_another_fluid_does_not_serve_it():
    assert poured(*_made("sat-1", target="coolant")) == {}
