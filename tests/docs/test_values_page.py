"""The page on values is held to the code: each form reads, each refusal refuses."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from drybuild.build.folder import parts_file
from drybuild.values import HowKnown, ValueFault, parse_value

PAGE = (Path(__file__).parents[2] / "docs" / "values.md").read_text(encoding="utf-8")
ROW = re.compile(r"^\| `(?P<raw>.+?)` \| an? (?P<kind>\w+) \| (?P<says>.+) \|$", re.MULTILINE)


def _rows(heading: str) -> list[tuple[Any, str, str]]:
    part = PAGE.split(f"## {heading}")[1].split("\n## ")[0]
    rows = [
        (tomllib.loads(f"x = {found['raw']}")["x"], found["kind"], found["says"])
        for found in ROW.finditer(part)
    ]
    assert len(rows) > 10
    return rows


@pytest.mark.parametrize(("raw", "kind", "says"), _rows("Forms"))
def test_each_form_is_read(raw: Any, kind: str, says: str) -> None:
    value = parse_value(raw, kind)
    if isinstance(raw, dict) and "same_as" in raw:
        assert value.same_as == raw["same_as"]
        return
    low, high = value.interval
    assert low <= high
    assert (low == high) == ("exact" in str(raw))


@pytest.mark.parametrize(("raw", "kind", "says"), _rows("What is refused"))
def test_each_refusal_refuses_and_says_what_to_write(raw: Any, kind: str, says: str) -> None:
    with pytest.raises(ValueFault) as caught:
        parse_value(raw, kind)
    assert "expected" in str(caught.value)
    assert len(str(caught.value)) > 40


def test_the_numbers_that_the_page_promises() -> None:
    assert parse_value("62 ± 2 mm", "length").interval == pytest.approx((0.060, 0.064), abs=5e-5)
    assert parse_value("42 N/mm ± 5 %", "spring_rate").interval == pytest.approx(
        (39.9e3, 44.1e3), rel=2e-3
    )
    assert parse_value("1 hp", "power").centre == pytest.approx(745.7, abs=0.05)
    assert parse_value("1 PS", "power").centre == pytest.approx(735.5, abs=0.05)


def test_assumed_is_wider_than_catalogue() -> None:
    def width(how: str) -> float:
        low, high = parse_value("62 mm", "length", how=how, default_doubt="1 mm").interval
        return high - low

    assert width("assumed") > 1.5 * width("catalogue")


def test_the_curve_and_the_word_on_the_page_are_read():
    written = tomllib.loads(PAGE.split("```toml\n", 1)[1].split("```", 1)[0])["curve"]
    parts = (
        parts_file()
        .model_validate(
            {
                "format": 1,
                "known": "assumed",
                "part": {
                    "p": {"kind": "pump", "curve": written},
                    "t": {"kind": "tyre", "marking": {"is": "205/50 R16 87V", "by": "eye"}},
                },
            },
            context={"how": "assumed", "catalogue": {}},
        )
        .part
    )
    assert len(parts["p"].curve.x) == 3
    assert 'marking = { is = "205/50 R16 87V", by = "eye" }' in PAGE
    assert parts["t"].how_known("marking", HowKnown.ASSUMED) is HowKnown.MEASURED
