"""The command that says what can be noted: ``addresses``, and ``note`` without a reading."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

import drybuild
from drybuild.build.declared import expand
from drybuild.build.kinds import place_of
from drybuild.cli.refused import Refused

if TYPE_CHECKING:
    from drybuild.examine import OpenBuild
    from drybuild.examine.lookup import Entry, Found, Present

MOST = 6
"""Answers shown until all are asked for."""


def run_addresses(arguments: argparse.Namespace) -> int:
    """``drybuild addresses``."""
    opened = drybuild.open_build(arguments.dir)
    words = " ".join(arguments.words)
    system = arguments.units or opened.build.head.units
    print(listing(opened, words, arguments.dir, system=system, everything=arguments.all))
    return 0


def listing(
    opened: OpenBuild, words: str, folder: str, *, system: str = "metric", everything: bool = False
) -> str:
    """What the words may mean, each with its meaning, what it takes and what stands there now."""
    from drybuild.examine.lookup import Present, entries, search
    from drybuild.show.lines import wrapped

    if not words and not everything:
        return _contents(opened, folder)
    known = {e.address: e for e in entries(opened)}
    named = list(known.values()) if not words else _under(words, known)
    found = [] if named else search(opened, words)
    chosen = named or [f.entry for f in found]
    if not chosen:
        raise Refused(nothing_called(words, folder))
    most = sum(f.exact for f in found) or MOST
    shown = chosen if named or everything else chosen[:most]
    present = Present(opened, "us" if system == "us" else "metric")
    lines = [line for entry in shown for line in entry_lines(entry, present)]
    if found:
        lines = [noted_as(words, sum(f.exact for f in found)), "", *lines]
    others = [entry.address for entry in chosen[len(shown) :]]
    if others:
        more = f", and {len(others) - MOST} more" if len(others) > MOST else ""
        lines += wrapped(f"Near it (--all says what they are): {', '.join(others[:MOST])}{more}", 0)
        lines.append("")
    return "\n".join([*lines, *_how_to_note(shown, folder)])


def noted_as(words: str, exact: int) -> str:
    """What heads the answers to words. exact: how many of them are what the words say."""
    if exact == 1:
        return f"{words!r} is noted as:"
    which = "either of these two" if exact == 2 else f"one of these {exact}"
    said = f"is noted as {which}" if exact else "is the name of nothing here. The nearest"
    return f"{words!r} {said}:"


def _under(words: str, known: dict[str, Entry]) -> list[Entry]:
    """The entries of a table, a place or a part that is named by its own name."""
    name = words.strip().replace(" ", "_")
    found = [e for a, e in known.items() if a.startswith((f"{name}.", f"part.{name}."))]
    return found or [e for a, e in known.items() if a == words.strip()]


def entry_lines(entry: Entry, present: Present) -> list[str]:
    """One entry: its address, then what it means, what it takes, what stands there, the tool."""
    from drybuild.examine.lookup import about, takes
    from drybuild.show.lines import wrapped

    declared = entry.declared
    meaning = "; ".join(said for said in (about(declared), declared.doc) if said)
    lines = [entry.address]
    lines += wrapped(f"     {meaning}", 5) if meaning else []
    lines += wrapped(f"     takes {takes(declared)}", 5)
    lines += wrapped(f"     now {present.said(entry)}", 5)
    measure = declared.measure
    if measure is not None:
        lines += wrapped(f"     with {measure.tool}, {measure.minutes} min: {measure.how}", 5)
    return [*lines, ""]


def _how_to_note(shown: list[Entry], folder: str) -> list[str]:
    from drybuild.show.lines import wrapped

    lines = []
    several = next((e for e in shown if not e.part and len(expand(e.address)) > 1), None)
    if several is not None:
        example = several.declared.address
        lines += wrapped(
            f"Say which one with front or rear, left or right: {example}. Cars are crooked, so "
            "measure each; with --alike one reading is written down for all of them.",
            0,
        )
    if any(e.part for e in shown):
        lines += wrapped(
            "part.… is a part in hand, not on the car yet: it is written into its own file.", 0
        )
    return [*lines, f"write it down: drybuild note {folder} ADDRESS READING --with TOOL --who NAME"]


def _contents(opened: OpenBuild, folder: str) -> str:
    """What is measured on the car word by word; parts, goals and the rest by their names."""
    from drybuild.examine.lookup import entries
    from drybuild.show.lines import wrapped

    measured: dict[str, dict[str, None]] = {name: {} for name in ("car", "axle", "corner")}
    parts: dict[str, None] = {}
    in_hand: dict[str, None] = {}
    others: dict[str, None] = {}
    fitted = opened.present.state.fitted
    for entry in entries(opened):
        owner, path = entry.declared.owner, entry.declared.path
        root = entry.address.removesuffix("." + ".".join(path))
        if root in measured:
            measured[root].setdefault(f"{path[0]}.…" if len(path) > 1 else path[0])
        elif entry.part:
            in_hand.setdefault(root)
        elif owner not in place_of():
            others.setdefault(root)
        elif fitted.get(owner):
            parts.setdefault(root)
    lines = [
        "What can be noted. For meaning, unit and tool name it, or say it in your own words:",
        f"  drybuild addresses {folder} wheel",
        f"  drybuild addresses {folder} rear left ride height",
        f"What to measure first: drybuild measure {folder}",
        "",
    ]
    rows = [(root, words) for root, words in measured.items()]
    rows += [("parts on it", parts), ("parts in hand", in_hand), ("and also", others)]
    for root, names in rows:
        lines += wrapped(f"{root:<14} {', '.join(names)}", 15) if names else []
    return "\n".join(lines)


def nothing_called(words: str, folder: str) -> str:
    """The refusal of words that mean nothing here."""
    return f"nothing is called {words!r}. What there is: drybuild addresses {folder}"


def meant(opened: OpenBuild, words: str, folder: str) -> str:
    """The one address that plain words mean. Raises Refused, with the nearest, when unsure."""
    from drybuild.examine.lookup import Present, search

    found: list[Found] = search(opened, words)
    exact = [f.entry.address for f in found if f.exact]
    if len(exact) == 1:
        return exact[0]
    if not found:
        raise Refused(nothing_called(words, folder))
    present = Present(opened)
    nearest = [f.entry for f in found if f.exact] or [f.entry for f in found[:3]]
    lines = [line for entry in nearest for line in entry_lines(entry, present)]
    look = f"Note it under one of these, or look further: drybuild addresses {folder} {words}"
    raise Refused("\n".join([noted_as(words, len(exact)), "", *lines, look]))
