"""The commands that put the whole car on paper: ``book`` and ``sheets``."""

from __future__ import annotations

import argparse
from datetime import datetime
from pathlib import Path
from typing import Any

import drybuild
from drybuild.cli.arguments import command, draws, folder
from drybuild.cli.refused import Refused


def add_papers(commands: Any) -> None:
    """Adds book."""
    _book(commands)


def _book(commands: Any) -> None:
    parser = command(
        commands, "book", "the build book: what is on the car, as built, for whoever signs for it",
        run_book,
        examples=(
            "mycar", "mycar --paper book.pdf", "mycar --page book.html --revision B",
            'mycar --printed "36c7 59eb 6fe3 8878"',
        ),
        more="As built alone: what is only planned is named once, apart. Each page names build,\n"
        "state, revision, date and a fingerprint of folder and journal, which is no signature.",
    )  # fmt: skip
    folder(parser)
    parser.add_argument("--paper", metavar="FILE", help="write it as PDF, of the kind to keep")
    parser.add_argument("--page", metavar="FILE", help="write it as one self-contained HTML page")
    parser.add_argument("--revision", default="", metavar="NAME", help="name of this revision")
    parser.add_argument(
        "--at", default="", metavar="DATE", help="its date, yyyy-mm-dd (else now)"
    )
    parser.add_argument(
        "--printed", metavar="FIGURES", help="say whether a printed fingerprint is this folder's"
    )
    parser.add_argument(
        "--units", choices=("metric", "us"), help="units shown (else as the build says)"
    )
    parser.add_argument("--draws", type=draws, default=None, help=argparse.SUPPRESS)


def run_book(arguments: argparse.Namespace) -> int:
    """``drybuild book``."""
    from drybuild.examine.book import make_book
    from drybuild.show.book_text import book_text

    opened = drybuild.open_build(arguments.dir)
    if arguments.printed:
        return _printed(opened, arguments)
    system = arguments.units or opened.build.head.units
    asked = {"draws": arguments.draws} if arguments.draws else {}
    book = make_book(
        opened, made_on=_moment(arguments.at), revision=arguments.revision, system=system, **asked
    )
    print(book_text(book))
    if arguments.paper:
        _paper(arguments.paper, book, system)
    if arguments.page:
        _page(arguments.page, book, system)
    if not (arguments.paper or arguments.page):
        print(f"\nwrite it: drybuild book {arguments.dir} --paper book.pdf --page book.html")
    return 0


def _printed(opened: Any, arguments: argparse.Namespace) -> int:
    from drybuild.examine.book import names_folder

    found = names_folder(opened, arguments.printed)
    if found is None:
        raise Refused(
            f"found {arguments.printed!r}, expected a fingerprint as printed, such as "
            "36c7 59eb 6fe3 8878"
        )
    if not found:
        raise Refused(
            f"{arguments.dir} is not the folder of that print as it was then: a file or the "
            "journal is another now, or the print is of another car"
        )
    print("The folder and its journal are those of that print. It says nothing of who made either.")
    return 0


def _paper(file: str, book: Any, system: Any) -> None:
    from drybuild.show.book_paper import write_book
    from drybuild.show.typeset import PaperExtraMissing, PaperRefused

    try:
        note = write_book(Path(file), book, system=system)
    except (PaperExtraMissing, PaperRefused) as error:
        raise Refused(str(error)) from None
    print(f"written: {file}" + (f"\nnote: {note}" if note else ""))


def _page(file: str, book: Any, system: Any) -> None:
    from drybuild.show.book_page import write_book_page
    from drybuild.show.charts import PageExtraMissing

    try:
        write_book_page(Path(file), book, system=system)
    except PageExtraMissing as error:
        raise Refused(str(error)) from None
    print(f"written: {file}")


def _moment(text: str) -> datetime | None:
    if not text:
        return None
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        raise Refused(f"--at: found {text!r}, expected yyyy-mm-dd or yyyy-mm-ddThh:mm") from None
