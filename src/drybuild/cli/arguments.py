"""What commands share in their arguments: examples, the folder, the state, who did it."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Any


def command(
    commands: Any,
    name: str,
    text: str,
    run: Callable[[argparse.Namespace], int],
    *,
    examples: tuple[str, ...],
    more: str = "",
) -> argparse.ArgumentParser:
    """One command: a line of what it does, more where it is needed, and examples to type."""
    heading = "example" if len(examples) == 1 else "examples"
    shown = "\n".join(f"  drybuild {name} {example}".rstrip() for example in examples)
    parser: argparse.ArgumentParser = commands.add_parser(
        name,
        help=text,
        description=f"{text[0].upper()}{text[1:]}." + (f"\n{more}" if more else ""),
        epilog=f"{heading}:\n{shown}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.set_defaults(run=run)
    return parser


def folder(parser: argparse.ArgumentParser) -> None:
    """The build folder."""
    parser.add_argument("dir", metavar="DIR", help="the build folder")


def state(parser: argparse.ArgumentParser) -> None:
    """Which state of the car, shown in which units."""
    parser.add_argument(
        "--state", default="finished", metavar="STATE",
        help="now, finished (every open job done; the default) or after:SESSION",
    )  # fmt: skip
    parser.add_argument(
        "--units", choices=("metric", "us"), help="units shown (else as the build says)"
    )
    parser.add_argument("--draws", type=draws, default=None, help=argparse.SUPPRESS)


def number(text: str) -> float:
    """A number as typed."""
    from drybuild.values import ValueFault, typed_number

    try:
        return typed_number(text)
    except ValueFault as fault:
        raise argparse.ArgumentTypeError(str(fault)) from None


def whole(text: str) -> int:
    """A whole number as typed."""
    from drybuild.values import ValueFault, typed_whole

    try:
        return typed_whole(text)
    except ValueFault as fault:
        raise argparse.ArgumentTypeError(str(fault)) from None


def entry_numbers(text: str) -> range:
    """An entry's number as typed, or all from one to another: ``7``, ``7-9``."""
    first, dash, last = text.partition("-")
    found = range(whole(first), whole(last if dash else first) + 1)
    if not found:
        raise argparse.ArgumentTypeError(f"found {text!r}, expected the lower number first: 7-9")
    return found


def entries_or_name(text: str) -> range | str:
    """Entries as ``entry_numbers`` reads them, or the name of what was written into a file."""
    return text if text[:1].isalpha() else entry_numbers(text)


def draws(text: str) -> int:
    """A number of draws as typed."""
    found = whole(text)
    if found < 64 or found > 262_144 or found & (found - 1):
        raise argparse.ArgumentTypeError("draws must be a power of two from 64 to 262144")
    return found


def who(parser: argparse.ArgumentParser, required: bool = True) -> None:
    """Who did it, and when."""
    parser.add_argument(
        "--who", required=required, default="", metavar="NAME", help="name of who did it"
    )
    parser.add_argument("--at", default="", metavar="DATE", help="yyyy-mm-dd (else now)")
