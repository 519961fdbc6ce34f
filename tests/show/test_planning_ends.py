"""What a plan says of the car when a session is over: checks are counted, not their reasons."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType, SimpleNamespace

import pytest

from drybuild.show.planning import _end_lines, opening_lines, tasks_behind
from drybuild.show.work_list import brief
from drybuild.show.work_supposed import count_text
from drybuild.work.model import Effect, Step, Supposed
from drybuild.work.openings import Opening
from drybuild.work.standing import Standing, Stop


def open_check(check: str, why: str, use: str = "drive") -> Stop:
    return Stop((use,), "check", why, "measure it", what=check, waits_for="narrowing")


class Nothing:
    """A problem of which nothing is asked: nothing is off and nothing left to do."""

    components: Mapping[str, object] = MappingProxyType({})
    effects: Mapping[str, object] = MappingProxyType({})


@pytest.mark.parametrize(
    ("stops", "said"),
    [
        ((open_check("a", "one"), open_check("a", "another", "run")), "run, drive: another"),
        ((open_check("a", "one"), open_check("b", "two")), "drive: one; two"),
    ],
)
def test_a_check_of_two_reasons_is_named_once(stops: tuple[Stop, ...], said: str) -> None:
    text = " ".join(_end_lines(Nothing(), Standing(0, (), (), (), stops)))  # type: ignore[arg-type]
    assert " ".join(text.split()).endswith(f"then stopped: {said}")


def test_what_is_supposed_counts_a_check_once_too() -> None:
    one = Supposed("a", "A", (), ("drive",), "one", "measure it", "narrowing", None, "")
    other = Supposed("a", "A", (), ("run",), "another", "measure it", "narrowing", None, "")
    assert count_text((one, other)).startswith("1 check comes out well")


def opening(name: str, begins: int, serves: tuple[str, ...], behind: tuple[str, ...]) -> Opening:
    """Off for ten quarters of an hour."""
    taken = Step("take", name, "sat-1", begins, begins + 1, ("Ilse",))
    refitted = Step("refit", name, "sat-1", begins + 9, begins + 10, ("Ilse",))
    return Opening(name, name, taken, refitted, serves, behind)


HATCH = opening("hatch", 0, ("wiring",), ("pump_module",))
MODULE = Opening(
    "pump_module", "pump module", Step("take", "pump_module", "sat-1", 2, 3, ("Ilse",)),
    Step("refit", "pump_module", "sat-1", 5, 6, ("Ilse",)), ("pump",), (),
)  # fmt: skip
LATER = opening("pump_module", 400, ("strainer",), ())


def test_what_lies_behind_an_opening_is_named_by_its_tasks() -> None:
    every = (HATCH, MODULE, LATER)
    assert tasks_behind(HATCH, every) == ("wiring", "pump")  # of another day: not for this one
    assert tasks_behind(MODULE, every) == ("pump",)


def test_every_opening_that_is_said_to_be_shared_names_more_than_one_task() -> None:
    every = (HATCH, MODULE, LATER)
    titled = {name: SimpleNamespace(title=name) for name in ("wiring", "pump", "strainer")}
    zero = datetime(2026, 12, 5)
    problem = SimpleNamespace(
        jobs=titled, effects={}, at=lambda quarters: zero,
        components={"pump_module": SimpleNamespace(title="the pump module")},
    )  # fmt: skip
    said = SimpleNamespace(todo=SimpleNamespace(problem=problem), openings=every)
    head, *lines = opening_lines(said, everything=False)  # type: ignore[arg-type]
    assert head == "What is opened: 3 openings, 1 shared by several tasks"
    assert lines == ["  Sat 5 Dec: hatch: wiring; pump"]
    only = SimpleNamespace(
        todo=said.todo, openings=(opening("cover", 0, (), ("pump_module",)),)
    )  # fmt: skip
    assert opening_lines(only, everything=True)[1:] == [  # type: ignore[arg-type]
        "  Sat 5 Dec: cover: to reach the pump module"
    ]


def test_what_waits_for_kilometres_after_the_last_session_is_the_owners() -> None:
    again = Effect("nuts", "nuts again after 50 km", ("compete",), between=50.0)
    bleed = Effect("bleed", "brakes to bleed", ("compete",))
    problem = SimpleNamespace(components={}, effects={e.id: e for e in (again, bleed)})
    step = Step("clear", "nuts", "sat-2", 0, 1)

    def said(by: Step | None) -> str:
        stops = tuple(Stop(("compete",), "pending", "", "", by, what=n) for n in ("nuts", "bleed"))
        car = Standing(0, (), ("nuts", "bleed"), (), stops)
        return " ".join(_end_lines(problem, car)[0].split())  # type: ignore[arg-type]

    assert said(step) == "left to do: nuts again after 50 km, brakes to bleed"
    assert said(None).startswith("left to do: nuts again after 50 km (yours, outside these sess")


def test_what_stands_open_at_a_sessions_end_is_named_as_on_the_screen() -> None:
    """The uses furthest on: what another one needs is not named beside it."""
    problem = SimpleNamespace(components={}, effects={})
    free = "  then nothing in the plan and nothing calculated stops "

    def said(*stopped: str) -> str:
        stops = (Stop(stopped, "check", "one", "", None, what="one"),) if stopped else ()
        car = Standing(0, (), (), (), stops)
        (line,) = (s for s in _end_lines(problem, car) if "nothing calculated" in s)  # type: ignore[arg-type]
        assert set(line.removeprefix(free).split(" or ")) == {
            use for row in brief(car) if not row.stopped for use in row.uses.split(", ")
        }
        return line

    assert said() == f"{free}drive or compete"
    assert said("compete") == f"{free}drive or full load"
    assert said("full load", "compete") == f"{free}drive"


def test_what_is_done_after_driving_is_no_reason_beside_a_stopped_drive() -> None:
    again = Effect("nuts", "nuts again after 50 km", ("compete",), between=50.0)
    problem = SimpleNamespace(components={}, effects={"nuts": again})
    step = Step("clear", "nuts", "sat-2", 0, 1)
    nuts = Stop(("compete",), "pending", again.title, "", step, what="nuts")
    car = Standing(0, (), ("nuts",), (), (nuts, open_check("a", "one")))
    lines = _end_lines(problem, car)  # type: ignore[arg-type]
    assert "  then stopped: drive: one" in lines
    assert lines[-1] == "  once it was driven, for compete: nuts again after 50 km"
