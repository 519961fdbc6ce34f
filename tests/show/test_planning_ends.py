"""What a plan says of the car when a session is over: checks are counted, not their reasons."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import pytest

from drybuild.show.planning import _end_lines
from drybuild.show.work_supposed import count_text
from drybuild.work.model import Supposed
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
        ((open_check("a", "one"), open_check("a", "another", "run")), "1 check that"),
        ((open_check("a", "one"), open_check("b", "one")), "2 checks that"),
    ],
)
def test_a_check_of_two_reasons_counts_once(stops: tuple[Stop, ...], said: str) -> None:
    text = " ".join(_end_lines(Nothing(), Standing(0, (), (), (), stops)))  # type: ignore[arg-type]
    assert f"{said} nobody can answer yet" in text


def test_what_is_supposed_counts_a_check_once_too() -> None:
    one = Supposed("a", "A", (), ("drive",), "one", "measure it", "narrowing", None, "")
    other = Supposed("a", "A", (), ("run",), "another", "measure it", "narrowing", None, "")
    assert count_text((one, other)).startswith("1 check comes out well")
