"""A small build folder for tests of what is to do; everything in it is invented."""

from __future__ import annotations

from pathlib import Path

from drybuild.examine.opened import OpenBuild, open_build

SESSIONS = """
[[session]]
id = "sat-1"
date = "2026-12-05"
start = "09:00"
end = "17:00"
people = ["Ann", "Ben"]

[[session]]
id = "sat-2"
date = "2026-12-12"
start = "09:00"
end = "17:00"
people = ["Ann", "Ben 13:00-15:30"]
"""

PARTS = """
[part.soft_spring]
kind = "spring"
price = "90 EUR"
[part.new_damper]
kind = "damper"
price = "200 EUR"
[part.new_pads]
kind = "pads"
price = "110 EUR"
[part.new_hose]
kind = "brake_hose"
price = "80 EUR the pair"
[part.big_injectors]
kind = "injectors"
price = "400 EUR"
arrives = "2026-12-10"
[part.new_map]
kind = "map"
price = "500 USD"
[part.new_turbo]
kind = "turbo"
[part.new_wheel]
kind = "wheel"
price = "250 EUR"
[part.new_arm]
kind = "control_arm"
price = "120 EUR"
"""

CREW = '[[crew]]\nname = "Ann"\n[[crew]]\nname = "Ben"\n'
PADS = '[[job]]\nid = "pads"\nfit = { "pads.front" = "new_pads" }\n'
SPRINGS = '[[job]]\nid = "springs"\nfit = { "spring.front" = "soft_spring" }\n'


def write(
    folder: Path,
    body: str,
    *,
    head: str = "",
    sessions: str = SESSIONS,
    work: str = "",
    outline: str = "light-roadster",
    parts: str = PARTS,
) -> Path:
    """The folder's files. body: jobs and the like; head: tables before the sessions."""
    (folder / "parts").mkdir(parents=True, exist_ok=True)
    name = '[build]\nname = "Test"\nscenario = "Invented."\ndriving = true\n'
    (folder / "build.toml").write_text(
        f"format = 1\n{name}{head}\n{CREW}{sessions}\n{body}", encoding="utf-8"
    )
    (folder / "car.toml").write_text(
        f'format = 1\nname = "Invented"\noutline = "{outline}"\n', encoding="utf-8"
    )
    (folder / "parts" / "all.toml").write_text(f"format = 1\n{parts}", encoding="utf-8")
    if work:
        (folder / "work.toml").write_text(f"format = 1\n{work}", encoding="utf-8")
    return folder


def opened(folder: Path, body: str, **more: str) -> OpenBuild:
    """The folder written and opened."""
    return open_build(write(folder, body, **more))
