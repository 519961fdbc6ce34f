"""The table of checks, of a toy room and of the program's own rooms."""

from __future__ import annotations

import re

import checks_table
from drybuild.findings import PRACTICE, Registry, Room, Source
from drybuild.systems import REGISTRY


def _toy() -> Registry:
    room = Room("toy", title="Toy")
    room.check(
        "toy.gap",
        title="a | gap <narrow>",
        slack=lambda *, gap: gap,
        needs={"gap": "toy.gap"},
        kind="length",
        per="corner",
        gap_wanted=0.004,
        consequence="injury",
        stops=("creep",),
        source=Source("A Standard", edition="2", clause="3.4", how="memory"),
        pose="at rest",
        do="more room",
        safety="Keep hands out.",
    )
    room.record(
        "toy.seen",
        title="seen by hand",
        changed=("wheel.*",),
        stops=("drive",),
        second_person=True,
        do="look",
        source=PRACTICE,
    )
    return Registry([room])


def test_a_check_is_a_line_with_all_a_reader_needs() -> None:
    text = checks_table.page(_toy())
    (line,) = [line for line in text.splitlines() if line.startswith("| `toy.gap`")]
    assert "a \\| gap &lt;narrow><br>at rest<br>*Keep hands out.*" in line
    assert "| each corner | 4 mm | injury | creep |" in line
    assert "A Standard, 2, 3.4 (from memory)" in line
    assert "**1 checks** and 1 records" in text
    assert "value, tool, name, a second person" in text


def test_a_check_that_leaves_the_reader_alone_is_named() -> None:
    registry = _toy()
    assert checks_table.missing_words(registry.checks.values()) == []
    room = Room("bare", title="Bare")
    room.check(
        "bare.gap", title="gap", slack=lambda *, gap: gap, needs={"gap": "x"}, kind="length",
        consequence="damage", stops=("drive",), source=Source(""),
    )  # fmt: skip
    assert len(checks_table.missing_words(Registry([room]).checks.values())) == 2


def test_every_check_of_the_program_is_in_the_table_once() -> None:
    text = checks_table.page(REGISTRY)
    ids = re.findall(r"^\| `([\w.]+)` \|", text, re.MULTILINE)
    assert sorted(ids) == sorted([*REGISTRY.checks, *REGISTRY.records])


def test_every_check_of_the_program_has_its_words() -> None:
    assert checks_table.missing_words(REGISTRY.checks.values()) == []
