"""Edits keep what a person wrote."""

from __future__ import annotations

import threading
import tomllib
from pathlib import Path

import pytest

from drybuild.build import Change, read_build
from drybuild.build.editing import (
    EditRefused,
    add_job,
    add_need,
    change_job,
    remove_need,
    remove_session,
    set_fact,
    set_session,
)
from drybuild.build.folder import WantedUse

BUILD = """\
# my car, do not lose this line
format = 1

[build]          # the head
name = "toy"     # a remark

[[job]]
id = "wheels"    # first
fit = { "wheel.front" = "wide" }
"""
CAR = """\
format = 1
name = "toy car"

[car]
# taken on the drive
wheelbase = "2330 ± 2 mm"   # tape
"""
PARTS = 'format = 1\n[part.wide]\nkind = "wheel"\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "parts").mkdir()
    (tmp_path / "build.toml").write_text(BUILD, encoding="utf-8")
    (tmp_path / "car.toml").write_text(CAR, encoding="utf-8")
    (tmp_path / "parts" / "a.toml").write_text(PARTS, encoding="utf-8")
    return tmp_path


def test_a_job_is_changed_and_every_remark_stays(folder):
    changes = [Change("fit", "wheel.rear", "wide"), Change("set", "car.wheelbase", "2331 mm")]
    change_job(read_build(folder), "wheels", {"wheel.front": "wide"}, changes)
    text = (folder / "build.toml").read_text(encoding="utf-8")
    assert 'id = "wheels"    # first' in text
    job = read_build(folder).job("wheels")
    assert job.fit == {"wheel.front": "wide", "wheel.rear": "wide"}
    assert job.set == {"car.wheelbase": "2331 mm"}
    change_job(read_build(folder), "wheels", {}, [Change("remove", "wheel.rear")])
    job = read_build(folder).job("wheels")
    assert (job.fit, job.remove, job.set) == ({}, ("wheel.rear",), {"car.wheelbase": "2331 mm"})
    with pytest.raises(EditRefused, match="no job 'gone'"):
        change_job(read_build(folder), "gone", {})


def test_a_job_is_added_and_every_line_stays(folder):
    changes = [Change("fit", "wheel.rear", "wide"), Change("set", "car.wheelbase", "2331 mm")]
    add_job(read_build(folder), "more", "two things", changes)
    text = (folder / "build.toml").read_text(encoding="utf-8")
    assert text.startswith(BUILD)
    job = read_build(folder).job("more")
    assert job.fit == {"wheel.rear": "wide"}
    assert job.set == {"car.wheelbase": "2331 mm"}


def test_a_fact_is_set_and_its_comment_stays(folder):
    set_fact(read_build(folder), "car.toml", ("car", "wheelbase"), "2332 ± 1 mm")
    text = (folder / "car.toml").read_text(encoding="utf-8")
    assert text == CAR.replace("2330 ± 2 mm", "2332 ± 1 mm")


def test_a_file_changed_outside_is_refused(folder):
    build = read_build(folder)
    (folder / "car.toml").write_text(CAR + "\n# meanwhile\n", encoding="utf-8")
    with pytest.raises(EditRefused, match="changed since"):
        set_fact(build, "car.toml", ("car", "wheelbase"), "2332 ± 1 mm")
    assert (folder / "car.toml").read_text(encoding="utf-8").endswith("# meanwhile\n")


def test_the_same_job_twice_is_refused(folder):
    with pytest.raises(EditRefused, match="already"):
        add_job(read_build(folder), "wheels", "again", [])


@pytest.mark.parametrize(
    "said", ["Ines\n[part.evil]\nkind = 1", "a\rb", "a\x00b\x1b[2J", "a\u2028b", "\u202eevil"]
)
def test_a_comment_is_one_line_of_signs_that_one_sees(folder, said):
    set_fact(read_build(folder), "car.toml", ("car", "wheelbase"), "2332 mm", comment=said)
    text = (folder / "car.toml").read_text(encoding="utf-8")
    assert len(text.splitlines()) == len(CAR.splitlines())
    assert not [sign for sign in text if not sign.isprintable() and sign != "\n"]
    assert set(read_build(folder).parts) == {"wide"}


def test_two_hands_at_once_lose_nothing(folder):
    """Each writes what it may; who is refused is told so, and nobody's line is written over."""
    keys = [f"k{n}" for n in range(24)]
    gate, kept = threading.Barrier(len(keys)), []

    def write(key):
        build = read_build(folder)
        gate.wait()
        try:
            set_fact(build, "parts/a.toml", ("part", "wide", key), "1 mm")
        except EditRefused:
            return
        kept.append(key)

    threads = [threading.Thread(target=write, args=(key,)) for key in keys]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    text = (folder / "parts" / "a.toml").read_text(encoding="utf-8")
    assert kept
    assert sorted(tomllib.loads(text)["part"]["wide"].keys() - {"kind"}) == sorted(kept)
    assert not list(folder.rglob("*.part"))


def test_a_hand_from_outside_in_the_last_moment_is_not_written_over(folder, monkeypatch):
    path = folder / "car.toml"
    by_hand = CAR + "\n# by hand\n"

    def meanwhile(handle):
        path.write_text(by_hand, encoding="utf-8")

    monkeypatch.setattr("drybuild.build.editing.os.fsync", meanwhile)
    with pytest.raises(EditRefused, match="changed since it was read"):
        set_fact(read_build(folder), "car.toml", ("car", "wheelbase"), "2332 mm")
    assert path.read_text(encoding="utf-8") == by_hand
    assert not list(folder.rglob("*.part"))


SESSIONS = """\
# my days
format = 1

[build]
name = "toy"

# the rack is dear
[[session]]
id = "sat-1"
date = "2026-12-05"   # a Saturday
start = "09:00"
end = "17:00"
people = [
  "Ann",   # with her own spanners
]
tools = ["rack"]

[[session]]
id = "sat-2"
date = "2026-12-12"
start = "09:00"
end = "17:00"
people = ["Ann", "Ben"]

# Ann drives on Mondays.
[[need]]
use = "drive"
day = "Monday"
"""


def test_a_session_is_changed_where_it_differs_and_nowhere_else(folder: Path) -> None:
    (folder / "build.toml").write_text(SESSIONS, encoding="utf-8")
    build = read_build(folder)
    first = build.sessions[0]
    set_session(build, first.model_copy(update={"end": "15:30"}))
    text = (folder / "build.toml").read_text(encoding="utf-8")
    assert text == SESSIONS.replace('end = "17:00"\npeople = [\n', 'end = "15:30"\npeople = [\n')
    build = read_build(folder)
    set_session(build, build.sessions[1].model_copy(update={"people": ("Ben 13:00-15:00",)}))
    after = read_build(folder)
    assert after.sessions[1].people == ("Ben 13:00-15:00",)
    assert after.sessions[0].tools == ("rack",)
    with pytest.raises(EditRefused, match="no work session 'sun-1'"):
        set_session(after, first.model_copy(update={"id": "sun-1"}))


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_a_session_is_taken_out_and_every_comment_stays(folder: Path, ends: str) -> None:
    path = folder / "build.toml"
    path.write_bytes(SESSIONS.replace("\n", ends).encode())
    remove_session(read_build(folder), "sat-2")
    text = path.read_bytes().decode()
    start, end = SESSIONS.index('[[session]]\nid = "sat-2"'), SESSIONS.index("# Ann drives")
    assert text == (SESSIONS[:start] + SESSIONS[end:]).replace("\n", ends)
    remove_session(read_build(folder), "sat-1")
    after = path.read_bytes().decode()
    assert read_build(folder).sessions == ()
    assert "# the rack is dear" in after
    assert "# Ann drives on Mondays." in after
    with pytest.raises(EditRefused, match="no work session"):
        remove_session(read_build(folder), "sat-1")


def test_a_day_of_need_is_added_and_taken_out(folder: Path) -> None:
    path = folder / "build.toml"
    path.write_text(SESSIONS, encoding="utf-8")
    friday = WantedUse(use="drive", day="Friday", at="06:30")
    add_need(read_build(folder), friday)
    assert [n.day for n in read_build(folder).needs] == ["Monday", "Friday"]
    assert path.read_text(encoding="utf-8").startswith(SESSIONS)
    remove_need(read_build(folder), friday)
    assert path.read_text(encoding="utf-8").strip() == SESSIONS.strip()
    with pytest.raises(EditRefused, match="no such day"):
        remove_need(read_build(folder), friday)


def test_a_line_ends_where_toml_ends_it_and_nowhere_else(folder: Path) -> None:
    """Other programs end a line at these signs too; in TOML they are part of a comment."""
    text = SESSIONS.replace("# my days", "# my days\u2028and\u0085yours")
    (folder / "build.toml").write_text(text, encoding="utf-8")
    remove_session(read_build(folder), "sat-2")
    start, end = text.index('[[session]]\nid = "sat-2"'), text.index("# Ann drives")
    assert (folder / "build.toml").read_text(encoding="utf-8") == text[:start] + text[end:]


def test_sessions_in_one_line_are_not_cut_up(folder: Path) -> None:
    line = 'session = [{ id = "sat-1", date = "2026-12-05", start = "09:00", end = "17:00" }]\n'
    (folder / "build.toml").write_text(f"format = 1\n{line}[build]\nname = \"toy\"\n", "utf-8")
    before = (folder / "build.toml").read_bytes()
    with pytest.raises(EditRefused, match="taken out there"):
        remove_session(read_build(folder), "sat-1")
    assert (folder / "build.toml").read_bytes() == before


def test_a_session_in_a_file_that_others_wrote_meanwhile_is_refused(folder: Path) -> None:
    (folder / "build.toml").write_text(SESSIONS, encoding="utf-8")
    build = read_build(folder)
    (folder / "build.toml").write_text(SESSIONS + "# another hand\n", encoding="utf-8")
    with pytest.raises(EditRefused, match="changed since it was read"):
        remove_session(build, "sat-2")
    assert (folder / "build.toml").read_text(encoding="utf-8").endswith("# another hand\n")
