"""The commands of the record: journal, jot, correct."""

from __future__ import annotations

import io
import sqlite3
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from drybuild.cli import main
from drybuild.journal import Journal

BUILD = 'format = 1\n[build]\nname = "x"\n'
CAR = 'format = 1\nname = "invented"\n[car]\nwheelbase = "2330 mm"\n'
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return _build(tmp_path / "mine")


def _build(folder: Path) -> Path:
    folder.mkdir()
    (folder / "build.toml").write_text(BUILD, encoding="utf-8")
    (folder / "car.toml").write_text(CAR, encoding="utf-8")
    return folder


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def ran(*words: str) -> tuple[int, str, str]:
        code = main(list(words))
        said = capsys.readouterr()
        return code, said.out, said.err

    return ran


def _jot_all(folder: Path, run: Run) -> None:
    at = ("--at", "2026-12-05")
    for words in (
        ("note", str(folder), "car.wheelbase", "2331 mm", "--who", "Ilse", *at),
        ("jot", str(folder), "a stud", "is stretched", "--task", "take:turbo", "--who", "Ilse",
         *at),
        ("jot", str(folder), "--torque", "hub", "--figure", "90 N·m", "--tool", "wrench 3",
         "--document", "invented book", "--second", "Marten", "--who", "Ilse", *at),
        ("jot", str(folder), "--fill", "cooling", "--quantity", "5.4 L", "--product", "pink",
         "--who", "Marten", *at),
        ("jot", str(folder), "--bag", "nuts, 4", "--label", "T1", "--place", "shelf 2", "--who",
         "Odile", *at),
        ("jot", str(folder), "--tag", "DO NOT CRANK", "--place", "key", "--who", "Ilse", *at),
        ("jot", str(folder), "--untag", "DO NOT CRANK", "--who", "Ilse", *at),
        ("correct", str(folder), "4", "quantity=4.4 L", "--who", "Marten", "--why", "jug", *at),
        ("undo", str(folder), "2", "--who", "Ilse"),
    ):  # fmt: skip
        code, _, said = run(*words)
        assert code == 0, said


def test_everything_that_was_jotted_is_listed(folder: Path, run: Run) -> None:
    _jot_all(folder, run)
    code, said, _ = run("journal", str(folder))
    lines = said.splitlines()
    assert code == 0
    assert [line[6:] for line in lines[:8]] == [
        "2026-12-05  Ilse  read wheelbase: 2331 mm",
        "2026-12-05  Ilse  remark on turbo off [take:turbo]: a stud is stretched  (undone)",
        "2026-12-05  Ilse  tightened hub: 90 N·m, wrench 3, seen by Marten (invented book)",
        "2026-12-05  Marten  filled cooling: 5.4 L, pink  (corrected by entry 8)",
        "2026-12-05  Odile  bagged nuts, 4: label T1, shelf 2",
        "2026-12-05  Ilse  hung up a tag, key: DO NOT CRANK",
        "2026-12-05  Ilse  took down a tag: DO NOT CRANK",
        "2026-12-05  Marten  corrected entry 4: quantity 4.4 L (jug)",
    ]
    assert lines[-4:-2] == [
        "9 entries, none altered since it was written", f"head  {Journal(folder).head()}",
    ]  # fmt: skip


def test_one_kind_of_it(folder: Path, run: Run) -> None:
    _jot_all(folder, run)
    _, said, _ = run("journal", str(folder), "--kind", "fill")
    assert said.startswith("   4  2026-12-05  Marten  filled cooling: 5.4 L, pink  (corrected")
    assert "tightened" not in said
    assert run("journal", str(folder), "--kind", "deed")[1].startswith("No entry of the kind deed")
    code, _, err = run("journal", str(folder), "--kind", "fills")
    assert code == 2
    assert "kinds: reading, deed" in err


def test_work_is_said_in_words(folder: Path, run: Run) -> None:
    journal = Journal(folder)
    journal.worked(
        "take:turbo", who="Ilse", people=["Ilse", "Odile", "Bo"], hours=2.5, at="2026-12-05"
    )
    journal.worked(
        "job:w", who="Ilse", what="stopped", left=1.5, words="stud broke", at="2026-12-05"
    )
    body = {"tool": "lift", "session": "sat-2"}
    journal.happened("tool_gone", body, who="Ilse", at="2026-12-05")
    _, said, _ = run("journal", str(folder))
    assert [line.split("Ilse  ", 1)[1] for line in said.splitlines()[:3]] == [
        "done: turbo off [take:turbo], 2.5 h, by Ilse, Odile and Bo",
        "stopped: w [job:w], by Ilse, 1.5 h left: stud broke",
        "happened: lift is not to be had in sat-2",
    ]


def test_from_one_folder_to_another(folder: Path, tmp_path: Path, run: Run) -> None:
    _jot_all(folder, run)
    other, file = _build(tmp_path / "other"), str(tmp_path / "record.txt")
    assert run("journal", str(folder), "--export", file)[0] == 0
    code, said, _ = run("journal", str(other), "--import", file)
    assert (code, said.splitlines()[0]) == (0, f"9 entries taken in, head {Journal(folder).head()}")
    assert "Nothing new" in run("journal", str(other), "--import", file)[1]
    run("jot", str(folder), "more", "--who", "Ilse")
    assert run("journal", str(folder), "--export", file)[0] == 0  # over the earlier one
    assert run("journal", str(other), "--import", file)[1].startswith("1 entry taken in")


def test_through_a_pipe(
    folder: Path, tmp_path: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    run("jot", str(folder), "Größe ½", "--who", "Ilse")
    _, text, _ = run("journal", str(folder), "--export", "-")
    assert text == Journal(folder).export()
    monkeypatch.setattr(sys, "stdin", io.StringIO(text))
    assert run("journal", str(_build(tmp_path / "other")), "--import", "-")[0] == 0


def test_a_file_that_is_no_record_is_not_written_over(folder: Path, run: Run) -> None:
    run("jot", str(folder), "x", "--who", "Ilse")
    code, _, err = run("journal", str(folder), "--export", str(folder / "build.toml"))
    assert code == 2
    assert "is no record" in err
    assert (folder / "build.toml").read_text(encoding="utf-8") == BUILD


def test_a_text_that_does_not_fit_is_refused_with_its_lines(
    folder: Path, tmp_path: Path, run: Run
) -> None:
    run("jot", str(folder), "x", "--who", "Ilse")
    file = tmp_path / "record.txt"
    file.write_text(Journal(folder).export().replace('"x"', '"y"'), encoding="utf-8")
    other = _build(tmp_path / "other")
    code, _, err = run("journal", str(other), "--import", str(file))
    assert code == 2
    assert err.splitlines() == [
        f"{file}: line 6: entry 1 does not fit its mark", "nothing was taken in",
    ]  # fmt: skip
    assert not (other / "journal.db").exists()
    file.write_bytes(b"\xff")
    assert "no text in UTF-8" in run("journal", str(other), "--import", str(file))[2]


def test_tampering_is_shown_wherever_the_record_is(folder: Path, run: Run) -> None:
    _jot_all(folder, run)
    head = str(Journal(folder).head())
    code, said, _ = run("journal", str(folder), "--verify")
    assert code == 0
    assert said.startswith(f"9 entries, none altered since it was written\nhead  {head}\n")
    assert "drybuild journal DIR --printed HEAD" in said
    assert run("journal", str(folder), "--printed", head)[0] == 0
    db = sqlite3.connect(folder / "journal.db")
    with db:
        db.execute("DROP TRIGGER entry_stays")
        db.execute("UPDATE entry SET who = 'Bo' WHERE id = 3")
    db.close()
    for words in (["--verify"], []):
        code, said, _ = run("journal", str(folder), *words)
        assert code == 2
        assert "not as it was written: entry 3" in said
    code, _, err = run("journal", str(folder), "--printed", head)
    assert code == 2
    assert "is not the one that had the head" in err
    code, text, err = run("journal", str(folder), "--export", "-")
    assert (code, text[-6:]) == (2, "end 9\n")
    assert "This text will not be taken in" in err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("jot", "--who", "Ilse"), "what is worth remembering"),
        (("jot", "--torque", "hub", "--who", "Ilse"), "torque: say figure, tool"),
        (("correct", "9", "x=y", "--who", "Ilse"), "no entry 9"),
        (("correct", "1", "--who", "Ilse"), "say what it should have been"),
        (("correct", "1", "reading", "--who", "Ilse"), "expected FIELD=VALUE"),
        (("correct", "1", "reading=23 kg", "--who", "Ilse"), "not of length"),
        (("correct", "2", "changes=x", "--who", "Ilse"), "is a deed"),
        (("correct", "3", "hours=two", "--who", "Ilse"), "expected hours"),
        (("correct", "3", "hours=1_5", "--who", "Ilse"), "hours: found '1_5', expected hours"),
        (("correct", "3", "left=nan", "--who", "Ilse"), "left: found 'nan', expected hours"),
    ],
)
def test_what_lacks_something_is_refused(
    folder: Path, run: Run, words: tuple[str, ...], says: str
) -> None:
    run("note", str(folder), "car.wheelbase", "2331 mm", "--who", "Ilse")
    run("did", str(folder), "--set", "car.wheelbase=2332 mm", "--who", "Ilse")
    Journal(folder).worked("job:w", who="Ilse", hours=2)
    name, *rest = words
    code, _, err = run(name, str(folder), *rest)
    assert code == 2
    assert says in err
    assert len(Journal(folder).entries()) == 3


def test_hours_people_and_date_are_corrected_as_typed(folder: Path, run: Run) -> None:
    Journal(folder).worked("job:w", who="Ilse", hours=2)
    said = ("hours=2.5", "people=Ilse, Marten", "--dated", "2026-12-05", "--by", "Odile")
    assert run("correct", str(folder), "1", *said, "--who", "Ilse")[0] == 0
    (work,) = Journal(folder).work()
    assert (work.hours, work.people, work.at, work.who) == (
        2.5, ("Ilse", "Marten"), "2026-12-05", "Odile",
    )  # fmt: skip


@pytest.mark.parametrize("name", ["journal", "jot", "correct"])
def test_a_folder_that_is_no_build_is_refused(tmp_path: Path, run: Run, name: str) -> None:
    rest = {"journal": [], "jot": ["x", "--who", "I"], "correct": ["1", "--who", "I"]}[name]
    assert "no build folder" in run(name, str(tmp_path), *rest)[2]
