"""The build book in short, on the screen: what it names, and what it lacks."""

from __future__ import annotations

from drybuild.examine.book import Book
from drybuild.findings import Verdict
from drybuild.show.cards_words import day_text, fingerprint_text
from drybuild.show.lines import wrapped
from drybuild.show.text import CAUTION


def book_text(book: Book) -> str:
    """A few lines: imprint, counts, and what a reader of the book will miss."""
    imprint = book.imprint
    lines = [
        f"{imprint.build} · build book, revision {imprint.revision}",
        f"  {imprint.state}, {day_text(imprint.made)}",
        f"  fingerprint {fingerprint_text(imprint.fingerprint)}: a hash of folder and journal, "
        "no signature",
        "",
    ]
    changed = [p for p in book.parts if p.changed]
    found = [one.finding for one in book.limits]
    counts = " · ".join(f"{sum(f.verdict is v for f in found)} {v}" for v in Verdict)
    lines += wrapped(
        f"  {len(changed)} parts changed, {len(book.parts) - len(changed)} as found; limits: "
        f"{counts}; {len(book.readings)} readings, "
        f"{sum(not m.void for m in book.made)} hand checks", 4,
    )  # fmt: skip
    lines += wrapped(
        f"  apart, not built: {len(book.still_open)} planned job{_s(len(book.still_open))}", 4
    )
    missed = lacks(book)
    if missed:
        lines += ["", "What a reader will miss"]
        for lack in missed:
            lines += wrapped(f"  {lack}", 4)
    lines += ["", *wrapped(CAUTION, 0)]
    return "\n".join(lines)


def _s(number: int) -> str:
    return "" if number == 1 else "s"


def lacks(book: Book) -> list[str]:
    """What a reader of the book will miss, in words."""
    found = []
    missing = [f.title for f in book.identity if not f.value]
    if missing:
        found.append(f"not stated in car.toml under [identity]: {', '.join(missing)}")
    assumed = [f.title for f in book.identity if f.assumed]
    if assumed:
        found.append(f"assumed, not read off car or papers: {', '.join(assumed)}")
    if book.body_work is None:
        found.append("whether anything was cut, welded, drilled or rolled ([identity] body_work)")
    unread = [p.partition(".")[2].replace(".", " ") for one in book.parts
              for p, code in one.codes if not code]  # fmt: skip
    if unread:
        found.append(f"tyre date code not read: {', '.join(sorted(unread))}")
    if not book.photographs:
        found.append("photographs that tie the book to the car")
    absent = sorted({one.part.part.name or one.part.id for one in book.documents if one.absent})
    if absent:
        found.append("no document behind: " + "; ".join(absent))
    undated = sum(not r.calibrated for r in book.readings)
    if undated:
        found.append(
            f"{undated} of {len(book.readings)} readings by an instrument whose calibration has no "
            "date ([[instrument]] in build.toml)"
        )
    if book.owed:
        found.append(f"{len(book.owed)} hand check{_s(len(book.owed))} owed")
    return found
