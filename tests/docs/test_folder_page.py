"""The page on the folder is held to the code: the files it shows make a build."""

from __future__ import annotations

import re
from pathlib import Path
from textwrap import dedent

import pytest

from drybuild.build import BuildFaults, job_changes, read_build
from drybuild.examine.opened import open_build
from drybuild.work.reading import to_do

DOCS = Path(__file__).parents[2] / "docs"
INDENTED = re.compile(r"(?:^(?: {4}.*)?\n)*^ {4}.*\n(?:^(?: {4}.*)?\n)*", re.MULTILINE)


def test_the_files_on_the_page_make_a_build(folder: Path) -> None:
    build = read_build(folder)
    assert build.head.name == "Wider wheels"
    assert build.base_fitted["wheel.front.right"] == "standard_wheel"
    assert build.base_fitted["spacer.rear.left"] is None
    assert "brake_hose.front.left" not in build.base_fitted
    finished = build.base_state.after(c for job in build.jobs for c in job_changes(job))
    assert finished.fitted["wheel.rear.right"] == "loft_17x85"
    assert finished.fitted["wheel.front.right"] == "standard_wheel"


def test_the_more_exact_table_wins(folder: Path) -> None:
    stated = read_build(folder).stated
    left, right = (stated[f"corner.rear.{s}.tyre_pressure"].value for s in ("left", "right"))
    assert left.centre == pytest.approx(2.3e5)
    assert right.centre == pytest.approx(2.2e5)


def test_faults_are_reported_together_with_their_lines(folder: Path) -> None:
    car, parts = folder / "car.toml", folder / "parts" / "mine.toml"
    car.write_text(car.read_text().replace("kerb_mass", "kerb_mas"))
    parts.write_text(parts.read_text().replace('"8.5 in"', '"8.5 inn"'))
    with pytest.raises(BuildFaults) as caught:
        read_build(folder)
    found = {fault.file: fault for fault in caught.value.faults}
    assert "kerb_mass" in found["car.toml"].hint
    lines = car.read_text().splitlines()
    assert "kerb_mas" in lines[(found["car.toml"].line or 0) - 1]
    lines = parts.read_text().splitlines()
    assert "inn" in lines[(found["parts/mine.toml"].line or 0) - 1]


def test_what_the_page_says_of_the_work_can_be_planned(folder: Path) -> None:
    page = (DOCS / "folder.md").read_text(encoding="utf-8")
    said = page.partition("## The work")[2].partition("## Addresses")[0]
    build, work = (dedent(block) for block in INDENTED.findall(said))
    head = folder / "build.toml"
    head.write_text(head.read_text(encoding="utf-8") + build, encoding="utf-8")
    (folder / "work.toml").write_text(work, encoding="utf-8")
    todo = to_do(open_build(folder))
    assert [s.id for s in todo.problem.sessions] == ["sat-1", "sat-2", "shop"]
    assert "lift" in todo.problem.session("sat-2").tools
    assert todo.problem.jobs["rack"].work.hours.likely == 1.5
    assert todo.problem.jobs["rack"].price == 120
    assert [need.session for need in todo.problem.needs] == ["sat-1", "sat-2", "shop"]
    assert [budget.most for budget in todo.problem.budgets] == [700]
