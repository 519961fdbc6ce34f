"""The commands book and sheets, as somebody types them."""

from __future__ import annotations

import shutil

import built_car
import pytest

import drybuild
from drybuild.cli import main


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return built_car.make(tmp_path_factory.mktemp("built") / "car")


@pytest.fixture
def folder(made, tmp_path):
    shutil.copytree(made, tmp_path / "car")
    return tmp_path / "car"


@pytest.fixture
def run(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "100")

    def command(*words, code=0):
        assert main([str(word) for word in words]) == code
        said = capsys.readouterr()
        return said.err if code else said.out

    return command


def test_book_says_what_a_reader_will_miss(run, folder):
    said = run("book", folder, "--draws", "64")
    assert "gearbox number" in said
    assert "tyre date code not read: rear right" in said
    assert "no document behind:" in said
    assert "no signature" in said


def test_book_writes_paper_and_page(run, folder, tmp_path):
    paper, page = tmp_path / "out" / "book.pdf", tmp_path / "out" / "book.html"
    said = run("book", folder, "--paper", paper, "--page", page, "--draws", "64",
               "--at", "2026-12-14", "--revision", "B")  # fmt: skip
    assert f"written: {paper}" in said
    assert paper.read_bytes().startswith(b"%PDF-")
    assert ">B<" in page.read_text("utf-8").replace("<b>revision</b>B<", ">B<")


def test_book_holds_a_printed_fingerprint_against_the_folder(run, folder):
    said = run("book", folder, "--draws", "64")
    figures = said.split("fingerprint ")[1].split(":")[0]
    assert "are those of that print" in run("book", folder, "--printed", figures)
    other = "0000" if not figures.startswith("0000") else "1111"
    assert "is not the folder" in run("book", folder, "--printed", other + figures[4:], code=2)
    assert "expected a fingerprint" in run("book", folder, "--printed", "none", code=2)


def test_book_refuses_a_date_that_is_none(run, folder):
    assert "--at: found 'soon'" in run("book", folder, "--at", "soon", code=2)


def test_sheets_asks_which(run, folder):
    assert "--measuring FILE" in run("sheets", folder, code=2)


def test_sheets_writes_all_and_takes_one_in(run, folder, tmp_path):
    form = tmp_path / "map.toml"
    said = run("sheets", folder, "--measuring", tmp_path / "m.pdf", "--corner", "rear.left",
               "--calibrator", tmp_path / "c.pdf", "--form", form,
               "--scrutineer", tmp_path / "s.pdf")  # fmt: skip
    assert said.count("written: ") == 4
    text = form.read_text("utf-8")
    for blank, value in (("part", "map_q1"), ("checksum", "AB12-0001"), ("stage", "first")):
        text = text.replace(f'\n{blank} = ""', f'\n{blank} = "{value}"', 1)
    form.write_text(text, "utf-8")
    said = run("sheets", folder, "--take-in", form, "--who", "Quill")
    assert "map map_q1: in parts/map_q1.toml; it is not fitted by that" in said
    assert (folder / "parts" / "map_q1.toml").is_file()
    job = "\n".join(line for line in said.splitlines() if line.startswith("  "))
    assert 'fit = { map = "map_q1" }' in job
    build = folder / "build.toml"
    build.write_text(f"{build.read_text('utf-8')}\n{job}\n", "utf-8")  # as it is told
    planned = drybuild.open_build(folder).state("finished")
    assert planned.fitted["map"] == "map_q1"


def test_a_form_that_may_be_filled_in_is_not_written_over(run, folder, tmp_path):
    form = tmp_path / "f.toml"
    run("sheets", folder, "--form", form)
    assert "is there already" in run("sheets", folder, "--form", form, code=2)


def test_all_faults_of_a_sheet_are_said_and_nothing_is_written(run, folder, tmp_path):
    form = tmp_path / "f.toml"
    run("sheets", folder, "--calibrator", tmp_path / "c.pdf", "--form", form)
    said = run("sheets", folder, "--take-in", form, code=2)
    assert said.startswith("3 faults in the sheet; nothing was written")
    assert "f.toml:" in said


@pytest.mark.parametrize("data", [b"\xff\xfe", b"x" * 600_000])
def test_what_is_no_sheet_is_refused(run, folder, tmp_path, data):
    form = tmp_path / "f.toml"
    form.write_bytes(data)
    assert "a sheet" in run("sheets", folder, "--take-in", form, code=2)


def test_a_file_that_is_not_there_is_named(run, folder, tmp_path):
    assert "gone.toml" in run("sheets", folder, "--take-in", tmp_path / "gone.toml", code=2)
