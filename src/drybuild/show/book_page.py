"""The build book as one self-contained HTML page: the same words, nothing fetched from anywhere."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from drybuild.examine.book import Book
from drybuild.show.book_paper import set_with_pictures
from drybuild.show.page import templates
from drybuild.values import System

SECTIONS = (
    ("car", "The car"), ("parts", "What is on it"),
    ("uses", "What the record holds it from, this day"), ("limits", "Limits and what was found"),
    ("readings", "Readings under these figures"), ("rules", "Rules it was read against"),
    ("not-assessed", "Not assessed"),
    ("documents", "Documents behind wheels, brakes and structure"),
    ("done", "What was done, and by whom"), ("signatures", "Three signatures"),
    ("chances", "Appendix: how sure"), ("open", "Apart: planned, not built"),
)  # fmt: skip
FORMS = {"jpg": "image/jpeg", "png": "image/png"}

Cells = list[list[list[str]]]
"""Rows of cells of lines."""


def write_book_page(path: Path, book: Book, *, system: System = "metric") -> None:
    """Write the page. Raises PageExtraMissing without the template library."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(book_page(book, system=system), encoding="utf-8")


def book_page(book: Book, *, system: System = "metric") -> str:
    """The page as text."""
    content, pictures = set_with_pictures(book, system)
    for one in content["photographs"]:
        one["source"] = _source(one["image"], pictures)
    for group in content["limits"]:
        group["cells"] = [_limit(r) for r in group["rows"]]
    for rules in content["rules"]:
        rules["cells"] = [
            [[r["says"]], [r["source"]], [r["how"]], [r["found"], r["where"]]]
            for r in rules["rows"]
        ]
    for group in content["documents"]:
        group["cells"] = [
            [[r["title"], r["where"]], [r["name"]], r["documents"]] for r in group["rows"]
        ]
    content["not_assessed"] = content.pop("not-assessed")
    content |= {"tables": _tables(content), "sections": SECTIONS}
    return templates().get_template("book.html.j2").render(**content)


def _source(name: str, pictures: Mapping[str, bytes]) -> str:
    if not name:
        return ""
    form = FORMS[name.rpartition(".")[2]]
    return f"data:{form};base64,{b64encode(pictures[name]).decode()}"


def _limit(r: dict[str, Any]) -> list[list[str]]:
    what = f"{r['title']}, {r['where']}" if r["where"] else r["title"]
    pose = r["pose"] or "of the parts alone, in no pose"
    return [
        [what, pose, " · ".join(r["inputs"]), r["source"]], r["sides"] or [""],
        [r["found"], r["of"]], [r["worst"]], [r["verdict"], r["why"], r["readings"]],
    ]  # fmt: skip


def _tables(c: dict[str, Any]) -> dict[str, Cells]:
    """The plain tables, cell by cell; a cell's first line stands out."""
    dated = any(r["session"] for r in c["open"])
    return {
        "codes": [[[r["where"]], [r["code"]]] for r in c["codes"]],
        "changed": [
            [[r["title"], r["where"]], [r["name"]], [r["serial"]], [r["approvals"]], [r["fitted"]]]
            for r in c["changed"]
        ],
        "unchanged": [
            [[r["title"], r["where"]], [r["name"]],
             ["vehicle maker's" if r["standard"] else "another's"]]
            for r in c["unchanged"]
        ],
        "readings": [
            [[r["number"]], [r["name"], r["standing"], r["from"]], [r["value"]],
             [r["instrument"], r["calibrated"]], [r["who"], r["when"]]]
            for r in c["readings"]
        ],
        "deeds": [
            [[r["when"]], [r["who"]], [r["job"], "; ".join(r["what"]), f"entry {r['entry']}"]]
            for r in c["deeds"]
        ],
        "made": [
            [[r["when"]], [r["who"]], [r["title"], r["evidence"], f"entry {r['entry']}"]]
            for r in c["made"]
        ],
        "void": [
            [[r["when"]], [r["who"]],
             [r["title"], r["since"], r["evidence"], f"entry {r['entry']}"]]
            for r in c["void"]
        ],
        "on_cards": [
            [[r["when"]], [r["who"]], [r["shows"], r["task"]], [r["file"], r["hash"]]]
            for r in c["on-cards"]
        ],
        "owed": [[[r["title"], r["places"]], [r["wanted"]]] for r in c["owed"]],
        "torques": [
            [[r["joint"], r["source"] or "whose figure it is was not written down"],
             [r["figure"]], [r["tool"]],
             [", ".join(s for s in (r["who"], r["second"]) if s), r["when"]]]
            for r in c["torques"]
        ],
        "fills": [
            [[r["where"]], [r["quantity"]], [r["product"]], [r["who"], r["when"]]]
            for r in c["fills"]
        ],
        "joint": [[[r["what"]], [r["chance"]]] for r in c["joint"]],
        "chances": [
            [[f"{r['title']}, {r['where']}" if r["where"] else r["title"]], [r["chance"]],
             [r["doubt"], r["notes"]]]
            for r in c["chances"]["rows"]
        ],
        "open": [
            [[r["title"]], *([[r["session"]]] if dated else []), ["; ".join(r["what"])]]
            for r in c["open"]
        ],
    }  # fmt: skip
