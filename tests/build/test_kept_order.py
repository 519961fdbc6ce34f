"""Edits of build.toml whose jobs and adjusters stand between each other: nothing moves."""

from __future__ import annotations

import difflib
import shutil
from pathlib import Path

import pytest

from drybuild.build import Change, read_build
from drybuild.build.editing import add_job, edit_file, set_fact, set_session
from drybuild.build.kept_order import edited

PLOVER = Path(__file__).parents[2] / "examples" / "plover"


@pytest.fixture(params=["\n", "\r\n"], ids=["lf", "crlf"])
def folder(tmp_path: Path, request: pytest.FixtureRequest) -> Path:
    made = tmp_path / "plover"
    shutil.copytree(PLOVER, made)
    file = made / "build.toml"
    text = file.read_text(encoding="utf-8").replace("\n", request.param)
    file.write_text(text, encoding="utf-8", newline="")
    return made


def _changed(folder: Path, before: str) -> tuple[list[str], list[str]]:
    """Lines that went, and lines that came."""
    after = (folder / "build.toml").read_bytes().decode()
    lines = list(difflib.ndiff(before.splitlines(), after.splitlines()))
    return [x[2:] for x in lines if x[0] == "-"], [x[2:] for x in lines if x[0] == "+"]


def test_the_examples_jobs_and_adjusters_stand_between_each_other() -> None:
    """Else the tests below would hold nothing."""
    text = (PLOVER / "build.toml").read_text(encoding="utf-8")
    heads = [line for line in text.splitlines() if line in ("[[job]]", "[[adjuster]]")]
    assert heads != sorted(heads)
    assert heads != sorted(heads, reverse=True)


def test_a_new_job_goes_to_the_end_and_nothing_else_moves(folder: Path) -> None:
    build = read_build(folder)
    add_job(build, "rings", "spacers", (Change("remove", "spacer.front"),))
    went, came = _changed(folder, build.files["build.toml"])
    assert went == []
    assert [line for line in came if line] == [
        "[[job]]", 'id = "rings"', 'title = "spacers"', 'remove = ["spacer.front"]',
    ]  # fmt: skip
    assert read_build(folder).jobs[-1].id == "rings"


def test_one_figure_set_is_one_line_changed(folder: Path) -> None:
    build = read_build(folder)
    set_fact(build, "build.toml", ("goal", "load"), "180 kg")
    went, came = _changed(folder, build.files["build.toml"])
    assert [len(went), len(came)] == [1, 1]
    assert came[0].startswith('load = "180 kg"')


def test_one_session_changed_is_one_line_changed(folder: Path) -> None:
    build = read_build(folder)
    set_session(build, build.sessions[1].model_copy(update={"end": "18:00"}))
    went, came = _changed(folder, build.files["build.toml"])
    assert (went, came) == (['end = "17:00"'], ['end = "18:00"'])
    assert [s.end for s in read_build(folder).sessions] == ["17:00", "18:00", "17:00"]


def test_a_table_taken_out_leaves_what_the_document_says(folder: Path) -> None:
    build = read_build(folder)
    edit_file(build, "build.toml", lambda document: document["job"].pop())
    assert [j.id for j in read_build(folder).jobs] == [j.id for j in build.jobs][:-1]


def test_a_line_in_an_array_that_looks_like_a_header_is_none() -> None:
    text = "a = [\n[1, 2],\n[3]]\n[[b]]\nk = 1\n\n# of c\n[[c]]\nk = 2\n[[b]]\nk = 3\n"
    new, wanted = edited(text, lambda document: document["c"][0].update({"k": 4}))
    assert wanted["c"] == [{"k": 4}]
    assert new == text.replace("k = 2", "k = 4")


def test_a_yes_or_no_takes_its_comment_like_any_other_fact(folder: Path) -> None:
    build = read_build(folder)
    set_fact(build, "build.toml", ("build", "driving"), False, comment="as you said")
    went, came = _changed(folder, build.files["build.toml"])
    assert (went, came) == (["driving = true"], ["driving = false  # as you said"])
