"""Of the car as it is driven, what is unsure has a name: nobody looks for it in a long list."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from drybuild.examine import Examination, open_build
from drybuild.findings import Verdict
from drybuild.show.text import check_text, unsure_lines

DEMO = Path(__file__).parents[2] / "examples" / "plover"


@pytest.fixture(scope="module")
def today() -> Examination:
    opened = open_build(DEMO)
    return opened.examine(opened.state("now"), draws=64)


def unsure(today: Examination, count: int, **fields: object) -> Examination:
    """The same with so many unsure findings, each of another check, that stop nothing."""
    seen = {f.check: f for f in today.findings if f.stops and not f.consequence.unsure_stops}
    assert len(seen) >= count
    fields = {"armed": True, "verdict": Verdict.UNSURE, "beyond": (), **fields}
    chosen = list(seen.values())[:count]
    found = tuple(f.but(**fields) if f in chosen else f for f in today.findings)
    return replace(today, findings=found)


def test_three_are_named_with_the_use_that_they_matter_for_and_the_rest_counted(today):
    lines = unsure_lines(unsure(today, 5), "metric")
    named = [line for line in lines if line.startswith("  unsure, for ")]
    stops = {f"  unsure, for {', '.join(f.stops)}: " for f in unsure(today, 5).findings if f.armed}
    assert len(named) == 3
    assert all(line.startswith(tuple(stops)) for line in named)
    assert lines[-1] == "  and 2 more unsure: --all"
    (first, *more) = unsure_lines(unsure(today, 1), "metric")
    assert first.startswith("  unsure, for ")
    assert not [line for line in more if line.startswith("  unsure")]


def test_they_stand_below_the_counts_and_not_twice_where_all_is_listed(today):
    made = unsure(today, 1)
    short = check_text(made, made, (), system="metric")
    assert "1 unsure" in short
    assert "\n  unsure, for " in short
    assert "\n  unsure, for " not in check_text(made, made, (), system="metric", everything=True)


@pytest.mark.parametrize("fields", [{"armed": False}, {"stops": ()}, {"verdict": Verdict.ENOUGH}])
def test_what_matters_for_no_use_or_is_as_found_is_not_named(today, fields):
    assert unsure_lines(unsure(today, 2, **fields), "metric") == []
