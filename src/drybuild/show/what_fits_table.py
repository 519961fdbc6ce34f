"""``what-fits`` with one look: a line for each offer."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from textwrap import wrap

from drybuild.examine.catalogue import Offer
from drybuild.findings import Finding, Verdict
from drybuild.findings.finding import RECALLED, RESTS_ON_ASSUMED
from drybuild.show.lines import width
from drybuild.show.sentences import grouped
from drybuild.values import System, show_number

HEADS = ("", "wheel and tyre", "least gap (wanted)", "in 100", "binds", "short, or open")
SHARES = (0.28, 0.30, 0.20, 0.22)
"""Of the line's width what its four columns of words take: wheel, gap, binds, short."""

APART = "  "


def row(label: str, name: str, offer: Offer, system: System) -> tuple[str, ...]:
    """The cells of an offer, as HEADS has them. label: its number, or what else it is; name: of
    wheel and tyre."""
    return (
        label, name, gap_words(offer, system), chance_words(offer.joint), binds_words(offer),
        open_words(offer),
    )  # fmt: skip


def table_html(rows: Sequence[tuple[str, ...]]) -> str:
    """The rows as a table, which a narrow screen stacks."""
    head = "".join(f'<th scope="col">{escape(words)}</th>' for words in HEADS)
    body = "".join(
        "<tr>" + "".join(
            f'<td data-head="{escape(words)}">{escape(cell)}</td>'
            for words, cell in zip(HEADS, cells, strict=True)
        ) + "</tr>"
        for cells in rows
    )  # fmt: skip
    return f'<table class="offers"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'


def table_lines(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """A head and the rows, in the width of the screen."""
    fixed = (max(3, *(len(cells[0]) for cells in rows)), len(HEADS[3]))
    room = width() - sum(fixed) - len(APART) * (len(HEADS) - 1)
    words = [int(room * share) for share in SHARES]
    wide = (fixed[0], *words[:2], fixed[1], *words[2:])
    return [line for row in (HEADS, *rows) for line in _row(row, wide)]


def _row(cells: Sequence[str], wide: Sequence[int]) -> list[str]:
    broken = [
        wrap(cell, room, break_on_hyphens=False) or [""]
        for cell, room in zip(cells, wide, strict=True)
    ]
    lines = []
    for at in range(max(map(len, broken))):
        said = [
            (rows[at] if at < len(rows) else "").rjust(room)
            if head in ("", "in 100") else (rows[at] if at < len(rows) else "").ljust(room)
            for head, rows, room in zip(HEADS, broken, wide, strict=True)
        ]  # fmt: skip
        lines.append(APART.join(said).rstrip())
    return lines


def least_gap(offer: Offer) -> Finding | None:
    """The gap beside the wheel with the least room over what is wanted there."""
    gaps = [
        f for f in offer.bearing
        if f.kind == "length" and f.check.endswith("_gap") and f.margin is not None
    ]  # fmt: skip
    return min(gaps, key=lambda f: f.margin.median if f.margin is not None else 0.0, default=None)


def gap_words(offer: Offer, system: System) -> str:
    """``6 mm (4 mm): tyre to arch lip at full bump``."""
    gap = least_gap(offer)
    if gap is None or gap.slack is None:
        return "none of it changed"
    millimetres = round(gap.slack.median * 1e3) * 1e-3
    wanted = show_number("length", gap.gap_wanted or 0.0, system)
    return f"{show_number('length', millimetres, system)} ({wanted}): {gap.title}"


def chance_words(chance: float) -> str:
    """A joint chance as a figure in 100; the ends of what was not quite reached as such."""
    if 0.995 <= chance < 1:
        return "99+"
    if 0 < chance < 0.005:
        return "under 1"
    return f"{round(chance * 100)}"


def binds_words(offer: Offer) -> str:
    """The check with the least chance, where it has less than all."""
    binds = offer.binds
    if binds is None or binds.chance is None or binds.chance >= 0.995:
        return "nothing"
    return f"{binds.title}: {round(binds.chance * 100)}"


def open_words(offer: Offer) -> str:
    """What is short by name; of what else is open, how much and why."""
    short = list(dict.fromkeys(f.title for f in offer.short))
    told = ["SHORT: " + ", ".join(short)] if short else []
    told += [
        f"{len(found)} {word}"
        for word, found in (
            ("by a guess", grouped(offer.guessed)),
            ("unsure", grouped(f for f in offer.open if f.verdict is Verdict.UNSURE
                               and f.why not in (RECALLED, RESTS_ON_ASSUMED))),
            ("by a rule not read", grouped(f for f in offer.open if f.why == RECALLED)),
            ("not known", grouped(f for f in offer.open if f.verdict is Verdict.UNMEASURED)),
        )
        if found
    ]  # fmt: skip
    return "; ".join(told) or "nothing"
