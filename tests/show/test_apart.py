"""What is said of a car that is apart: how it stands, before what nothing recorded stops."""

from __future__ import annotations

from pathlib import Path

import pytest

from drybuild.build import Change
from drybuild.examine import Examination, open_build
from drybuild.show.sentences import APART_SHOWN, apart_text, apart_words
from drybuild.show.text import check_text, today_text

DEMO = Path(__file__).parents[2] / "examples" / "plover"
WHEELS = Change("open", "wheels_rear", {"title": "rear wheels", "stops": ["move", "drive"]})


def examined(*changes: Change) -> Examination:
    opened = open_build(DEMO)
    return opened.examine(opened.state("now").after(list(changes), "now"), draws=64)


@pytest.fixture(scope="module")
def apart() -> Examination:
    return examined(Change("open", "raised_rear"), WHEELS)


def test_how_it_stands_comes_before_what_nothing_stops(apart: Examination) -> None:
    said = "the car is apart (the car stands raised: rear; off: rear wheels)"
    assert apart_text(apart) == said
    today = today_text(apart)
    assert today.startswith(said)
    assert today.index("stopped: move") < today.index("recorded stops turn over, run")
    text = " ".join(check_text(apart, apart, (), system="metric").split())
    order = (said, "move stopped", "run nothing recorded stops it")
    assert [text.index(one) for one in order] == sorted(text.index(one) for one in order)


def test_of_a_closed_car_nothing_of_the_kind_is_said() -> None:
    whole = examined()
    assert apart_text(whole) == ""
    assert "apart" not in today_text(whole)


def test_what_is_not_named_is_counted() -> None:
    assert apart_words([], 0) == ""
    assert apart_words(["a"], 1) == "the car is apart (a)"
    assert apart_words(["a", "b"], 5) == "the car is apart (a; b; 3 more)"
    more = examined(*(Change("open", name) for name in ("raised_rear", "raised_front", "airbox")))
    assert apart_text(more).endswith(f"; {3 - APART_SHOWN} more)")
