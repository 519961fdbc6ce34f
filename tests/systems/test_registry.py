"""All rooms together: every input exists, ids are plain, and there are enough checks."""

from __future__ import annotations

import re
from typing import ClassVar

from drybuild.build import State
from drybuild.build.drawn import DrawnFacts
from drybuild.findings.evaluate import check_addresses
from drybuild.systems import registry
from drybuild.values import Draws


class _Head:
    rule_sets: tuple[str, ...] = ()


class _Build:
    root = "."
    head = _Head()
    blends = ("any",)
    stated: ClassVar[dict[str, object]] = {}
    parts: ClassVar[dict[str, object]] = {}


def test_every_input_is_declared_by_a_model_or_offered_by_a_room():
    state = State(_Build(), "now", {})  # type: ignore[arg-type]
    assert check_addresses(registry(), DrawnFacts(state, Draws(64, 1))) == []


def test_there_are_at_least_sixty_checks_over_ten_systems():
    checks = registry().checks.values()
    assert len(checks) >= 60
    assert len({c.room for c in checks}) == 10


def test_every_check_says_what_it_needs_to_say():
    for check in registry().checks.values():
        assert re.fullmatch(r"[a-z]+\.[a-z0-9_]+", check.id), check.id
        assert check.title, check.id
        assert check.source.document, check.id
        assert check.stops or check.consequence == "nuisance", f"{check.id} stops nothing"
        assert check.when_short, check.id


def test_law_stops_drive_or_compete_alone():
    for check in registry().checks.values():
        if check.room == "law":
            assert set(check.stops) <= {"drive", "compete"}, check.id


def test_nothing_says_that_anything_is_safe_or_passed():
    told = re.compile(r"\b(passed|ok to drive|safe to (drive|run|use))\b", re.I)
    for check in registry().checks.values():
        for text in (check.title, check.when_short, check.do, check.safety, check.pose):
            assert not told.search(text), f"{check.id}: {text}"


def test_nobody_is_told_to_raise_boost_or_advance():
    told = re.compile(r"\b(raise|more|increase|add)\b[^.;]{0,20}\b(boost|advance|timing)\b", re.I)
    for check in registry().checks.values():
        assert not told.search(check.do), f"{check.id}: {check.do}"
