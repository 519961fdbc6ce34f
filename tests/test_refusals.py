"""Everything a user can provoke through the command is said in words, with exit code 2."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from drybuild.build import read_build
from drybuild.build.editing import set_fact
from drybuild.cli import main
from drybuild.journal import Journal

DEMO = Path(__file__).parents[1] / "examples" / "plover"
SMALL = {
    "build.toml": 'format = 1\n[build]\nname = "x"\n',
    "car.toml": 'format = 1\nname = "invented"\n[car]\nwheelbase = "2330 mm"\n',
}
QUICK = ["--draws", "64"]


@pytest.fixture
def small(tmp_path: Path) -> Path:
    folder = tmp_path / "small"
    (folder / "parts").mkdir(parents=True)
    for name, text in SMALL.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


@pytest.fixture
def refused(capsys):
    """Run a command that must be refused; gives what it said."""

    def _refused(*words: str | Path) -> str:
        capsys.readouterr()
        try:
            code = main([str(word) for word in words])
        except SystemExit as left:
            code = int(left.code or 0)
        said = capsys.readouterr().err
        assert code == 2, said
        assert said.strip()
        assert "Traceback" not in said
        return said

    return _refused


def test_folders_that_are_none(refused, small, tmp_path):
    (tmp_path / "empty").mkdir()
    assert "no such file" in refused("check", tmp_path / "empty").lower()
    assert "no such folder" in refused("check", small / "car.toml")
    assert "no such folder" in refused("check", tmp_path / "none")
    refused("check", "x" * 300)
    (tmp_path / "loop").symlink_to("loop")
    refused("check", tmp_path / "loop")


def test_undo_wants_a_build_folder(refused, tmp_path):
    assert "no build folder" in refused("undo", tmp_path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_a_pipe_among_the_parts_is_not_waited_for(refused, small):
    os.mkfifo(small / "parts" / "x.toml")
    assert "not a file" in refused("check", small)


def test_a_file_that_links_to_itself(refused, small):
    (small / "car.toml").unlink()
    (small / "car.toml").symlink_to("car.toml")
    assert "car.toml" in refused("check", small)


def test_a_journal_that_links_to_nowhere_is_not_an_empty_one(refused, small):
    (small / "journal.db").symlink_to("elsewhere/journal.db")
    assert "link" in refused("check", small)


@pytest.mark.parametrize("draws", ["abc", "0", "-1", "65", "1e3", "4194304", "64.0", ""])
def test_draws(refused, small, draws):
    assert "draws" in refused("check", small, "--draws", draws)


@pytest.mark.parametrize(
    "words",
    [
        ("done", "job:x", "--who", "Ilse", "--hours", "1_5"),
        ("done", "job:x", "--who", "Ilse", "--left", "nan"),
        ("plan", "--percentile", "8_0"), ("plan", "--seconds", "1_0"),
        ("quote", "--round", "1_000"), ("while-apart", "--years", "1_0"),
        ("cards", "--card", "1_2"), ("undo", "1_2"), ("what-fits", "rear", "--offer", "1_0"),
    ],
)  # fmt: skip
def test_no_number_has_an_underscore(refused, small, words):
    command, *rest = words
    said = refused(command, small, *rest)
    assert f"found {words[-1]!r}; expected a" in said


@pytest.mark.parametrize("state", ["after:", "after:none", "draft:x", "", "nwo"])
def test_states(refused, small, state):
    assert "no state" in refused("check", small, "--state", state, *QUICK)


@pytest.mark.parametrize("value", ["nan m", "inf m", "1e999 m", "", "m", "5", "5 kg", "2,330 m"])
def test_values(refused, small, value):
    assert "car.wheelbase" in refused("note", small, "car.wheelbase", value, "--who", "Ilse")
    assert Journal(small).entries() == ()


@pytest.mark.parametrize(
    "words",
    [
        ("note", "blend.none.ethanol", "10 %"),
        ("note", "part.none.offset", "10 mm"),
        ("note", "corner.front.left.arch_point", "10 mm"),
        ("note", "car.wheelbase", "2.33 m", "--with", "banana"),
        ("note", "car.wheelbase", "2.33 m", "--at", "yesterday"),
        ("did", "--open", " "),
        ("did", "--disturb", ""),
        ("did", "--disturb", "["),
        ("did", "--close", "intake"),
        ("did", "--set", "="),
        ("undo", "99999999999999999999"),
    ],
)
def test_what_is_written_down_makes_sense(refused, small, words):
    command, *rest = words
    refused(command, small, *rest, "--who", "Ilse")
    assert Journal(small).entries() == ()


def test_bytes_that_are_no_text(refused, small):
    assert "UTF-8" in refused("note", small, "car.wheelbase", "2.33 m", "--who", "\udcff")
    assert Journal(small).entries() == ()


def test_a_part_is_noted_by_a_fact(refused, tmp_path):
    shutil.copytree(DEMO, tmp_path / "car")
    said = refused("note", tmp_path / "car", "part.loft_17x8", "32 mm", "--who", "Ilse")
    assert "name the fact" in said
    assert "offset" in said


def test_keeping_a_fix_wants_its_check(refused, small):
    assert "--keep" in refused("fix", small, "--keep", "1")


@pytest.mark.skipif(hasattr(os, "geteuid") and os.geteuid() == 0, reason="root writes anywhere")
def test_a_folder_that_cannot_be_written(refused, small):
    small.chmod(0o500)
    try:
        assert "journal.db" in refused("note", small, "car.wheelbase", "2.33 m", "--who", "Ilse")
    finally:
        small.chmod(0o700)


def test_a_journal_held_by_another_program(small, monkeypatch, capsys):
    import sqlite3

    Journal(small).note("car.wheelbase", "2.33 m", who="Ilse")
    held = sqlite3.connect(small / "journal.db", isolation_level=None)
    held.execute("BEGIN EXCLUSIVE")
    monkeypatch.setattr("drybuild.journal.store.PATIENCE", 0.05)
    assert main(["note", str(small), "car.wheelbase", "2.34 m", "--who", "Ilse"]) == 2
    assert "another program" in capsys.readouterr().err
    held.execute("ROLLBACK")
    held.close()


# ---- output that another character set, or nobody, takes


def run(folder: Path, *words: str, **env: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "drybuild.cli", *words], cwd=folder, check=False,
        capture_output=True, env={**os.environ, **env},
    )  # fmt: skip


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8"])
def test_any_character_set_takes_the_answer(small, encoding):
    Journal(small).note("car.wheelbase", "2.33 ± 0.01 m", who="Жанна")
    done = run(small.parent, "undo", "small", PYTHONIOENCODING=encoding)
    assert done.returncode == 0, done.stderr
    done = run(small.parent, "check", "small", "--json", *QUICK, PYTHONIOENCODING=encoding)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout.decode(encoding))["build"] == "x"


def test_a_reader_that_has_read_enough(small):
    command = [sys.executable, "-m", "drybuild.cli", "schema"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.readline()
        process.stdout.close()
        assert process.stderr.read() == b""


# ---- files as other editors leave them


@pytest.mark.parametrize(
    "change", [lambda b: b.replace(b"\n", b"\r\n"), lambda b: b"\xef\xbb\xbf" + b]
)
def test_files_of_other_editors_are_read_and_edited(small, change):
    for name in SMALL:
        (small / name).write_bytes(change((small / name).read_bytes()))
    build = read_build(small)
    set_fact(build, "car.toml", ("car", "wheelbase"), "2340 mm")
    again = read_build(small).stated["car.wheelbase"].value
    assert again.median == pytest.approx(2.340)
    if b"\r\n" in change(b"\n"):
        assert (small / "car.toml").read_bytes().count(b"\r\n") == SMALL["car.toml"].count("\n")


# ---- two at once


WRITER = """
import sys
from drybuild.build import Change
from drybuild.journal import Journal
journal = Journal(sys.argv[1])
for i in range(200):
    if i % 2:
        journal.note("car.wheelbase", f"23{i:03d} mm", who=sys.argv[2])
    else:
        journal.did([Change("set", "car.wheelbase", f"23{i:03d} mm")], who=sys.argv[2])
"""


def test_two_write_the_journal_at_once_and_nothing_is_lost(small):
    command = [sys.executable, "-c", WRITER, str(small)]
    writers = [subprocess.Popen([*command, who]) for who in ("Ilse", "Marten")]
    assert [writer.wait() for writer in writers] == [0, 0]
    entries = Journal(small).entries()
    assert [e.id for e in entries] == list(range(1, 401))
    for who in ("Ilse", "Marten"):
        mine = [e for e in entries if e.who == who]
        assert len(mine) == 200
        assert [e.kind for e in mine] == ["deed", "reading"] * 100
