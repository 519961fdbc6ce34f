"""The invented Plover half built: three of its jobs done and written down, the rest still planned.

Run as a program it makes the folder: ``python tests/work/built_car.py DIR``. Every number, name and
photograph in it is invented.
"""

from __future__ import annotations

import shutil
import struct
import sys
import zlib
from pathlib import Path

import drybuild
from drybuild.build import Change, job_changes
from drybuild.build.state import read_setting

ROOT = Path(__file__).parents[2]
PLOVER = ROOT / "examples" / "plover"

IDENTITY = """
[identity]
chassis_number = { is = "FNK1PLVR0G0004711", by = "eye" }
plate = { is = "UC 4711", by = "eye" }
engine_number = { is = "K18T-220417", by = "eye" }
colour = "slate grey"
odometer = { is = "84210 km", by = "document" }
papers = ["registration certificate UC-2016-0418, office of Upper Callow (invented), 18 April 2016"]
body_work = ["rear arch lips rolled, nothing welded: Callow Body Works (invented), bill 1187"]

[[photograph]]
file = "chassis.png"
shows = "chassis number on the bulkhead"
taken = "2026-12-13"
by = "Ilse"

[[photograph]]
file = "rear-left.png"
shows = "rear left wheel, its load mark and the tyre's date code"
taken = "2026-12-13"
by = "Ilse"
"""

HEADS = """
[[instrument]]
name = "corner scales of Halm"
is_a = "corner scales"
serial = "CS-0417"
calibrated = "2026-05-11"
certificate = "K-20551, weights and measures office of Callow (invented)"

[[instrument]]
name = "tape 3 m"
is_a = "tape"

[[instrument]]
name = "vernier of Halm"
is_a = "vernier"
serial = "2209"
calibrated = "2025-11-02"

[book]
owner = "Ilse Brandt"
workshop = "Garage Halm, Upper Callow (invented)"
workshop_scope = ["wheels, springs and rear arms fitted", "alignment set and read"]
engineer = "M. Quill, certifier no. 0000 (invented)"

[scrutineer]
club = "Callow and District Hill Climb Club (invented)"
form = "form 3, season 12"
entrant = "Ilse Brandt"
car_class = "B2, road cars to 2 litres, forced induction"
number = "47"
"""

WHO = "Ilse"
DONE = (("springs", "2026-12-05"), ("rear-arms", "2026-12-05"), ("wheels", "2026-12-12"))
READINGS = (
    ("identity.odometer", {"is": "84312 km", "by": "document"}, "", "2026-12-13", WHO),
    (
        "car.kerb_mass",
        {"is": "1086 kg", "by": "corner scales"},
        "corner scales of Halm",
        "2026-12-13",
        "Halm",
    ),
    (
        "corner.rear.left.tyre_pressure",
        {"is": "2.1 bar gauge", "by": "tyre gauge"},
        "",
        "2026-12-13",
        WHO,
    ),
    ("wheel.front.left.spoke_depth", {"is": "47.6 mm", "by": "depth gauge"}, "", "2026-12-12", WHO),
    (
        "wheel.front.left.hub_bore",
        {"is": "67.12 mm", "by": "vernier"},
        "vernier of Halm",
        "2026-12-12",
        "Halm",
    ),
    ("tyre.front.left.date_code", "2526", "", "2026-12-12", WHO),
    ("tyre.front.right.date_code", "2526", "", "2026-12-12", WHO),
    ("tyre.rear.left.date_code", "2026", "", "2026-12-12", WHO),
)
CHECKS = (
    ("corners.nuts_tightened", "2026-12-12",
     {"value": "100 N·m, twice round", "tool": "torque wrench TW-3", "name": WHO}),
    ("corners.seat_and_ring_seen", "2026-12-12", {"value": "contact all round", "name": "Halm"}),
)  # fmt: skip


def make(folder: Path, *, extra_car: str = "", extra_build: str = "", name: str = "") -> Path:
    """The folder, with its journal. name: of the build, in place of the Plover's."""
    shutil.copytree(PLOVER, folder)
    car = (folder / "car.toml").read_text(encoding="utf-8")
    (folder / "car.toml").write_text(car + IDENTITY + extra_car, encoding="utf-8")
    build = (folder / "build.toml").read_text(encoding="utf-8")
    if name:
        build = build.replace('"Fennick Plover 1.8T"', name)
    (folder / "build.toml").write_text(build + HEADS + extra_build, encoding="utf-8")
    _part(
        folder / "parts" / "wheels.toml",
        "loft_17x85",
        'serial = "L-22871 left, L-22872 right"\napprovals = ["LT 690"]\n'
        'documents = ["Loft load test report LT-8817 (invented), edition 2, page 3: 690 kg"]\n',
    )
    (folder / "photos").mkdir()
    (folder / "photos" / "chassis.png").write_bytes(picture(320, 200))
    (folder / "photos" / "rear-left.png").write_bytes(picture(240, 240))
    opened = drybuild.open_build(folder)
    journal = opened.journal
    for job, day in DONE:
        changes = job_changes(opened.build.job(job))
        journal.did(changes, who=WHO, job=job, at=day)
    for address, raw, instrument, day, who in READINGS:
        read_setting(address, raw)
        journal.note(address, raw, who=who, instrument=instrument, at=day)
    for record, day, evidence in CHECKS:
        journal.did([Change("verify", record, evidence)], who=evidence["name"], at=day)
    journal.tightened(
        "rear wheel nuts",
        figure="100 N·m",
        tool="torque wrench TW-3",
        who=WHO,
        second="Marten",
        document="Fennick handbook (invented), page 212",
        condition="dry",
        fastener="Tolland nut",
        at="2026-12-12",
    )
    journal.filled(
        "brake reservoir", quantity="0.4 L", product="Quern fluid", who=WHO, at="2026-12-12"
    )
    return folder


def _part(file: Path, part: str, lines: str) -> None:
    text = file.read_text(encoding="utf-8")
    head = f"[part.{part}]\n"
    assert head in text
    file.write_text(text.replace(head, head + lines), encoding="utf-8")


def picture(wide: int, tall: int) -> bytes:
    """A grey picture with bars in it, as a PNG: it stands for a photograph."""
    rows = bytearray()
    for y in range(tall):
        rows.append(0)
        rows += bytes(40 + (160 * ((x // 16 + y // 24) % 2)) + x * 40 // wide for x in range(wide))
    head = struct.pack(">IIBBBBB", wide, tall, 8, 0, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(bytes(rows), 9)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        for kind, data in chunks
    )


if __name__ == "__main__":
    print(make(Path(sys.argv[1])))
