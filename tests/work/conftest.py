"""The demo build with a plan of it that is written down by hand."""

from __future__ import annotations

from pathlib import Path

import making_todo as making
import pytest

import drybuild
from drybuild.work.cards import cards
from drybuild.work.lessons import Lessons

DEMO = Path(__file__).parents[2] / "examples" / "plover"


@pytest.fixture(scope="module")
def opened():
    return drybuild.open_build(DEMO)


@pytest.fixture(scope="module")
def lessons(opened):
    return Lessons(opened.state("now"), opened.registry, making.problem().jobs)


@pytest.fixture(scope="module")
def made(opened, lessons):
    return cards(opened, making.todo(), making.plan(), lessons=lessons)
