"""A refusal names the field that is amiss, so that no page guesses it from words."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from saturdays import problem

from drybuild.examine.recording import RecordIncomplete
from drybuild.journal import EntryRefused, bodies
from drybuild.web.hours import hours_of
from drybuild.work.doing import DoneRefused
from drybuild.work.happened import Happening, HappeningRefused, after_happenings

TORQUE = {"joint": "nuts", "figure": "90 N·m", "tool": "wrench", "who": "Ann"}


def _work(**more: object) -> None:
    plain = {"people": ("Ann",), "started": "", "ended": "", "hours": None, "what": "done",
             "left": None, "words": ""}  # fmt: skip
    bodies.worked("job:a", **{**plain, **more})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("field", "refused"),
    [
        ("figure", lambda: bodies.torque({**TORQUE, "figure": "done"}, "Ann")),
        ("figure", lambda: bodies.torque({**TORQUE, "figure": "80 - 90"}, "Ann")),
        ("second", lambda: bodies.torque({**TORQUE, "second": "Ann"}, "Ann")),
        ("people", lambda: _work(people=("Ann", "Ann"))),
        ("hours", lambda: _work(hours=-1.0)),
        ("left", lambda: _work(what="stopped", left=-1.0)),
        ("left", lambda: _work(left=2.0)),
        ("left", lambda: hours_of("x", "left")),
        ("hours", lambda: hours_of("x")),
        ("job", lambda: after_happenings(problem(), [Happening("dropped", {"job": "none"})])),
        ("job", lambda: after_happenings(problem(), [Happening("dropped", {})])),
        ("tool", lambda: _raise(RecordIncomplete("bled", ("tool",), True))),
        ("second", lambda: _raise(RecordIncomplete("bled", (), True))),
    ],
)
def test_the_field_that_is_amiss_is_named(field: str, refused: Callable[[], object]) -> None:
    with pytest.raises(
        (EntryRefused, DoneRefused, HappeningRefused, RecordIncomplete)
    ) as error:
        refused()
    assert error.value.field == field  # type: ignore[attr-defined]


def _raise(error: Exception) -> None:
    raise error
