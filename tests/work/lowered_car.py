"""A car that is lowered, whose camber is wanted just as it was found: then it must be set."""

from __future__ import annotations

from pathlib import Path

from drybuild.build.new import make_build


def lowered_car(folder: Path, starter: str = "front-turbo-hatch") -> Path:
    """A new folder without the window in which camber may be off."""
    make_build(folder, nearest=starter, driving="yes", first_change="lower it")
    file = folder / "build.toml"
    lines = file.read_text(encoding="utf-8").splitlines(keepends=True)
    kept = [line for line in lines if not line.startswith("camber_window")]
    assert len(kept) == len(lines) - 1
    file.write_text("".join(kept), encoding="utf-8")
    return folder
