"""A copy of the demo with a few of its jobs, for tests that plan and examine."""

from __future__ import annotations

import shutil
from collections.abc import Collection
from pathlib import Path

import tomlkit

EXAMPLE = Path(__file__).parents[2] / "examples" / "plover_saturdays"


def copy_with(
    to: Path, jobs: Collection[str], sessions: Collection[str], *, end: str = ""
) -> Path:
    """The demo's folder with these jobs and sessions alone. Every part is there from the start.
    end: of every session, where another than the demo's."""
    folder = Path(shutil.copytree(EXAMPLE, to / "car"))
    path = folder / "build.toml"
    document = tomlkit.parse(path.read_text(encoding="utf-8")).unwrap()
    document["job"] = [_free(j, jobs) for j in document["job"] if j["id"] in jobs]
    document["session"] = [s for s in document["session"] if s["id"] in sessions]
    for table in ("lent", "budget"):
        document.pop(table, None)
    for session in document["session"]:
        session["tools"] = [*session.get("tools", ()), "spring compressor"]
        session |= {"end": end} if end else {}
    path.write_text(tomlkit.dumps(document), encoding="utf-8")
    for part in (folder / "parts").glob("*.toml"):
        lines = part.read_text(encoding="utf-8").splitlines(keepends=True)
        part.write_text("".join(x for x in lines if not x.startswith("arrives")), "utf-8")
    return folder


def _free(job: dict[str, object], jobs: Collection[str]) -> dict[str, object]:
    kept = {key: value for key, value in job.items() if key != "arrives"}
    after = kept.get("after")
    if isinstance(after, list):
        kept["after"] = [name for name in after if name in jobs]
    return kept
