"""Fifty browsers at one build: no error, and no edit lost; the long run is a benchmark."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from served import EXAMPLE

import drybuild
from drybuild.build.editing import set_fact
from web_load import FACTS, IN_HAND, READINGS, Trial, lost, measured


@pytest.fixture
def car(tmp_path: Path) -> Path:
    return Path(shutil.copytree(EXAMPLE, tmp_path / "plover"))


def test_fifty_browsers_are_all_answered_and_lose_no_edit(car: Path) -> None:
    found = measured(car, clients=50, seconds=8, pause=2.0)
    assert found["alive"]
    assert found["errors"] == []
    assert found["lost"] == []
    assert found["times"]["look"]["count"] >= 50
    assert sum(found["acknowledged"].values()) >= 5


@pytest.mark.parametrize(
    ("kind", "what"),
    [
        ("reading", (READINGS[0], "46.0 ± 1 mm", "nobody")),
        ("remark", ("seen by nobody", "nobody")),
        ("draft", ("nothing",)),
        ("in hand", (IN_HAND, "f" * 24, "309.5 ± 0.3 mm")),
        ("fact", (next(iter(FACTS)), "5.9 ± 0.2 kg", "6.66 kg")),
    ],
)
def test_an_edit_that_is_not_there_is_found_out(
    car: Path, kind: str, what: tuple[str, ...]
) -> None:
    trial = Trial()
    assert lost(car, trial) == []
    trial.acknowledged(kind, *what)
    assert len(lost(car, trial)) == 1


def test_an_edit_that_was_written_over_unseen_is_found_out(car: Path) -> None:
    address = "part.tolland_disc_310.ring_mass"
    file = drybuild.open_build(car).build.part_files["tolland_disc_310"]
    trial = Trial()
    for value in ("6.1 kg", "6.2 kg"):
        build = drybuild.open_build(car).build
        set_fact(build, file, tuple(address.split(".")), value)
        trial.acknowledged("fact", address, "5.9 ± 0.2 kg", value)
    assert any("two edits of one sight" in said for said in lost(car, trial))


def test_the_browsers_edit_what_is_there(car: Path) -> None:
    from drybuild.examine.noting import declared_at

    opened = drybuild.open_build(car)
    assert all(declared_at(opened, address) for address in (*FACTS, *READINGS, IN_HAND))
