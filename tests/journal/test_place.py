"""Where a live journal may not lie: refused with a clear word, and the way out."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from drybuild.cli import main
from drybuild.journal import Journal, JournalMisplaced, JournalUnreadable
from drybuild.journal.place import HERE, SYNCED, why_not
from journal_shim import Op, Watch, images, watched

BUILD = 'format = 1\n[build]\nname = "x"\n'
CAR = 'format = 1\nname = "invented"\n[car]\nwheelbase = "2330 mm"\n'
NOTE = ["car.wheelbase", "2331 mm", "--who", "Ilse"]


def _mounts(*places: tuple[str, str]) -> str:
    """A list of what is mounted as Linux writes it (proc(5))."""
    lines = [
        f"{n} 1 0:{n} / {place} rw,relatime shared:{n} - {kind} source rw"
        for n, (place, kind) in enumerate((("/", "ext4"), *places), 20)
    ]
    return "\n".join(lines)


@pytest.mark.parametrize(
    "kind", ["nfs", "nfs4", "cifs", "smb3", "9p", "afs", "ceph", "fuse", "fuse.sshfs", "fuse.other"]
)
def test_a_network_drive_is_named(kind: str) -> None:
    said = why_not(Path("/far/cars/mine"), environ={}, mounts=_mounts(("/far", kind)))
    assert f"network drive or a served one ({kind})" in said
    assert "Move the build folder to a disk of this machine" in said
    assert "--export" in said


@pytest.mark.parametrize("kind", ["ext4", "btrfs", "xfs", "zfs", "overlay", "tmpfs", "fuseblk"])
def test_a_disk_of_the_machine_is_taken(kind: str) -> None:
    mounts = _mounts(("/near", kind), ("/far", "nfs"))
    assert why_not(Path("/near/cars/mine"), environ={}, mounts=mounts) == ""


def test_the_deepest_mount_counts_and_of_two_at_one_place_the_later() -> None:
    mounts = _mounts(("/far", "nfs"), ("/far/disk", "ext4"), ("/disk", "ext4"), ("/disk", "nfs"))
    assert why_not(Path("/far/disk/mine"), environ={}, mounts=mounts) == ""
    assert "(nfs)" in why_not(Path("/far/diskette"), environ={}, mounts=mounts)
    assert "(nfs)" in why_not(Path("/disk/mine"), environ={}, mounts=mounts)


def test_a_place_with_a_space_in_its_name() -> None:
    mounts = _mounts(("/my\\040cars", "cifs"))
    assert "(cifs)" in why_not(Path("/my cars/mine"), environ={}, mounts=mounts)


@pytest.mark.parametrize(
    "trace",
    [".sync", ".sync_5f1e.db", "._sync_5f1e.db", ".SyncArchive", ".synced",
     "build.sync-conflict-20261205.toml", "build (conflicted copy).toml",
     "car (Ilse's conflicted copy 2026-12-05).toml"],
)  # fmt: skip
@pytest.mark.parametrize("above", [0, 1])
def test_what_programs_leave_that_carry_files_about_is_seen(
    tmp_path: Path, trace: str, above: int
) -> None:
    folder = tmp_path / "cars" / "mine"
    folder.mkdir(parents=True)
    assert why_not(folder, environ={}) == ""
    (folder, folder.parent)[above].joinpath(trace).write_text("x", encoding="utf-8")
    said = why_not(folder, environ={})
    assert "kept in step with a remote copy" in said
    assert trace in said


def test_a_trace_in_the_home_folder_says_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    (tmp_path / ".sync").mkdir()
    (tmp_path / "mine").mkdir()
    assert why_not(tmp_path / "mine", environ={}) == ""


@pytest.mark.parametrize("name", ["asynchronous.toml", "sync.toml", "conflict.toml", ".git"])
def test_other_names_are_left_alone(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text("x", encoding="utf-8")
    assert why_not(tmp_path, environ={}) == ""


def test_the_folder_where_macos_mounts_them() -> None:
    folder = Path("/Users") / "ilse" / "Library" / "CloudStorage" / "any" / "mine"
    assert "CloudStorage" in why_not(folder, environ={}, mounts=_mounts())


def test_the_owner_can_say_what_is_not_seen(tmp_path: Path) -> None:
    mine = tmp_path / "mine"
    mine.mkdir()
    there = os.pathsep.join(("/elsewhere", str(tmp_path)))
    assert SYNCED in why_not(mine, environ={SYNCED: there})
    assert why_not(mine, environ={SYNCED: str(tmp_path / "other")}) == ""


def test_the_owner_can_say_that_it_is_mistaken(tmp_path: Path) -> None:
    (tmp_path / ".sync").mkdir()
    assert f"{HERE}={tmp_path}" in why_not(tmp_path, environ={})
    assert why_not(tmp_path, environ={HERE: str(tmp_path)}) == ""
    assert why_not(tmp_path, environ={HERE: str(tmp_path / "other")}) != ""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "build.toml").write_text(BUILD, encoding="utf-8")
    (tmp_path / "car.toml").write_text(CAR, encoding="utf-8")
    return tmp_path


def test_nothing_is_written_there(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv(SYNCED, str(folder))
    with pytest.raises(JournalMisplaced, match="is damaged there"):
        Journal(folder).remark("x", who="Ilse")
    assert main(["note", str(folder), *NOTE]) == 2
    assert "journal.db: " in capsys.readouterr().err
    assert not (folder / "journal.db").exists()
    monkeypatch.setenv(HERE, str(folder))
    assert main(["note", str(folder), *NOTE]) == 0


def test_what_is_there_can_be_read_and_written_out(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    Journal(folder).note("car.wheelbase", "2331 mm", who="Ilse")
    before = (folder / "journal.db").read_bytes()
    monkeypatch.setenv(SYNCED, str(folder))
    assert len(Journal(folder).entries()) == 1
    assert main(["check", str(folder), "--draws", "64"]) == 0
    assert main(["journal", str(folder), "--export", "-"]) == 0
    assert capsys.readouterr().out.endswith("end 1\n")
    assert (folder / "journal.db").read_bytes() == before


def test_a_write_that_was_broken_off_is_told_where_it_cannot_be_taken_back(
    folder: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    watch = Watch()
    journal = watched(tmp_path_factory.mktemp("watched"), watch)
    for number in (1, 2):
        journal.remark(f"{number}", who="Ilse")
        watch.ops.append(Op("told", told=number))
    broken_off = next(
        files
        for moment, _, told, files in images({}, watch.ops)
        if told == 1 and watch.ops[moment - 1].name == "journal.db"
    )
    for name, data in broken_off.items():
        (folder / name).write_bytes(data)
    monkeypatch.setenv(SYNCED, str(folder))
    with pytest.raises(JournalUnreadable, match="both together"):
        Journal(folder).entries()
    monkeypatch.delenv(SYNCED)
    assert [e.body["words"] for e in Journal(folder).entries()] == ["1"]


def test_a_link_is_followed_to_where_the_file_lies(
    folder: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    there = tmp_path_factory.mktemp("synced")
    Journal(there).remark("x", who="Ilse")
    (folder / "journal.db").symlink_to(there / "journal.db")
    monkeypatch.setenv(SYNCED, str(there))
    with pytest.raises(JournalMisplaced):
        Journal(folder).remark("y", who="Ilse")
