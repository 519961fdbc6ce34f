"""A copy of the demo with a kept plan, planned once, and the app of it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from small_demo import copy_with
from starlette.types import ASGIApp

import drybuild
from drybuild.web.app import make_app
from drybuild.web.desk import Desk
from drybuild.web.workshop import Work, Workshop
from drybuild.work import plan_file
from drybuild.work.at_hand import at_hand
from drybuild.work.examined import LOOKS
from drybuild.work.model import Plan
from drybuild.work.planned import Stage, plan_telling

HOSTS = frozenset({"127.0.0.1:8000", "192.0.2.7:8000"})
JOBS = ("bar-links", "intake", "springs-front")


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a kept plan: planned once."""
    made = copy_with(tmp_path_factory.mktemp("work"), JOBS, ("sat-1", "sat-2"), end="17:30")
    opened = drybuild.open_build(made)
    hand, stages = at_hand(opened), []
    found = plan_telling(hand, stages.append, seconds=2)
    assert isinstance(found, Plan)
    begun = [stage.name for stage in stages if not stage.found]
    assert begun == ["looking"] * (len(begun) - 1) + ["searching"]
    assert 2 <= len(begun) <= 1 + LOOKS
    assert stages[0] == Stage("looking", 1, 0)
    plan_file.keep(opened, hand.todo.problem, found)
    return made


@pytest.fixture(autouse=True)
def on_the_day(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever the clock says, no session lies ahead of it: a test that asks says so itself."""
    monkeypatch.setattr(Work, "days_ahead", lambda work, card: 0)


@pytest.fixture
def folder(planned: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(planned, tmp_path / "car"))


@pytest.fixture(scope="module")
def table() -> Workshop:
    """Cards of one plan are made once for all tests: their folders are copies of each other."""
    return Workshop()


@pytest.fixture
def app(folder: Path, table: Workshop) -> ASGIApp:
    desk = Desk(folder)
    desk.workshop = table
    return make_app(desk, hosts=HOSTS, share=True, away="http://192.0.2.7:8000")
