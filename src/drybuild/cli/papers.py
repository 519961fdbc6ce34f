"""The commands that put the whole car on paper: ``book`` and ``sheets``."""

from __future__ import annotations

import argparse
from datetime import date, datetime
from pathlib import Path
from typing import Any

import drybuild
from drybuild.cli.arguments import command, draws, folder
from drybuild.cli.refused import Refused


def add_papers(commands: Any) -> None:
    """Adds book and sheets."""
    _book(commands)
    _sheets(commands)


def _book(commands: Any) -> None:
    parser = command(
        commands, "book", "the build book: what is on the car, as built, for whoever signs for it",
        run_book,
        examples=(
            "my-car", "my-car --paper book.pdf", "my-car --page book.html --revision B",
            'my-car --printed "36c7 59eb 6fe3 8878"',
        ),
        more="As built alone: what is only planned is named once, apart. Each page names build,\n"
        "state, revision, date and a fingerprint of folder and journal, which is no signature.",
    )  # fmt: skip
    folder(parser)
    parser.add_argument("--paper", metavar="FILE", help="write it as PDF, of the kind to keep")
    parser.add_argument("--page", metavar="FILE", help="write it as one self-contained HTML page")
    parser.add_argument("--revision", default="", metavar="NAME", help="name of this revision")
    parser.add_argument("--at", default="", metavar="DATE", help="its date, yyyy-mm-dd (else now)")
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


def _sheets(commands: Any) -> None:
    parser = command(
        commands, "sheets", "sheets to measure by, for the calibrator, for the scrutineer",
        run_sheets,
        examples=(
            "my-car --measuring sheets.pdf", "my-car --measuring rear-left.pdf --corner rear.left",
            "my-car --calibrator map.pdf --form map.toml",
            "my-car --measuring sheets.pdf --form readings.toml", "my-car --scrutineer side.pdf",
            "my-car --take-in map.toml --who Quill",
        ),
        more="The form is a text file with blanks; filled in, --take-in reads it, says\n"
        "everything that is wrong with it, and writes it down only when nothing is. A map is\n"
        "taken in with its checksum, is not fitted by that, and raises no figure of yours.",
    )  # fmt: skip
    folder(parser)
    parser.add_argument("--measuring", metavar="FILE", help="measuring sheets as PDF")
    parser.add_argument(
        "--corner", action="append", choices=("front.left", "front.right", "rear.left",
        "rear.right"), help="only this corner (repeatable)",
    )  # fmt: skip
    parser.add_argument("--calibrator", metavar="FILE", help="the calibrator's sheet as PDF")
    parser.add_argument("--scrutineer", metavar="FILE", help="the scrutineer's one side as PDF")
    parser.add_argument(
        "--form", metavar="FILE", help="the same to fill in, as text: the calibrator's where that "
        "is asked for, else the measuring sheets'",
    )  # fmt: skip
    parser.add_argument(
        "--state", default="finished", metavar="STATE",
        help="hardware of which state, for the calibrator (finished)",
    )  # fmt: skip
    parser.add_argument("--take-in", metavar="FILE", help="take a filled-in form into the folder")
    parser.add_argument(
        "--who", default="", metavar="NAME", help="who filled it in, where it does not say"
    )
    parser.add_argument(
        "--at", default="", metavar="DATE",
        help="yyyy-mm-dd: when it was filled in, where it does not say; or printed",
    )
    parser.add_argument(
        "--units", choices=("metric", "us"), help="units shown (else as the build says)"
    )


def run_sheets(arguments: argparse.Namespace) -> int:
    """``drybuild sheets``."""
    from drybuild.show.typeset import PaperExtraMissing, PaperRefused

    opened = drybuild.open_build(arguments.dir)
    if arguments.take_in:
        return _take_in(opened, arguments)
    try:
        written = _write_sheets(opened, arguments)
    except (PaperExtraMissing, PaperRefused) as error:
        raise Refused(str(error)) from None
    if not written:
        raise Refused(
            "say which: --measuring FILE, --calibrator FILE, --scrutineer FILE, --form FILE, or "
            "--take-in FILE"
        )
    for file, note in written:
        print(f"written: {file}" + (f"\nnote: {note}" if note else ""))
    return 0


def _write_sheets(opened: Any, arguments: argparse.Namespace) -> list[tuple[str, str]]:
    from drybuild.examine.book import imprint
    from drybuild.examine.sheets import (
        calibrator_form,
        calibrator_sheet,
        measuring_form,
        measuring_sheets,
        scrutineer_side,
    )
    from drybuild.findings import CORNERS
    from drybuild.show.sheets import write_calibrator, write_measuring, write_scrutineer

    made = _moment(arguments.at) or datetime.now()
    system = arguments.units or opened.build.head.units
    printed = imprint(opened, made)
    found: list[tuple[str, str]] = []
    if arguments.measuring or (arguments.form and not arguments.calibrator):
        corners = tuple(arguments.corner or CORNERS)
        sheets = measuring_sheets(opened, corners=corners, system=system)
        if arguments.measuring:
            note = write_measuring(Path(arguments.measuring), sheets, printed)
            found.append((arguments.measuring, note))
        if arguments.form and not arguments.calibrator:
            text = measuring_form(
                sheets, build=printed.build, state=printed.state, fingerprint=printed.fingerprint
            )
            found.append((_form(arguments.form, text), ""))
    if arguments.calibrator:
        sheet = calibrator_sheet(opened, state=arguments.state, made=made)
        note = write_calibrator(Path(arguments.calibrator), sheet, system)
        found.append((arguments.calibrator, note))
        if arguments.form:
            found.append((_form(arguments.form, calibrator_form(sheet)), ""))
    if arguments.scrutineer:
        side = scrutineer_side(opened, made=made)
        note = write_scrutineer(Path(arguments.scrutineer), side, system)
        found.append((arguments.scrutineer, note))
    return found


def _form(file: str, text: str) -> str:
    """A new file: a form that was filled in is not written over."""
    path = Path(file)
    if path.exists():
        raise Refused(f"{file} is there already: it may be filled in; give another name")
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8", newline="\n")
    return file


def _take_in(opened: Any, arguments: argparse.Namespace) -> int:
    from drybuild.examine.naming import plain_name
    from drybuild.examine.sheets import FormRefused, take_in
    from drybuild.examine.sheets.form import MOST_BYTES

    path = Path(arguments.take_in)
    if path.stat().st_size > MOST_BYTES:
        raise Refused(f"{path}: a sheet has at most {MOST_BYTES:,} bytes")
    try:
        text = path.read_bytes().decode("utf-8")
    except UnicodeDecodeError:
        raise Refused(f"{path}: a sheet is text in UTF-8") from None
    try:
        found = take_in(opened, text, name=path.name, who=arguments.who, at=arguments.at)
    except FormRefused as error:
        count = len(error.faults)
        faults = "1 fault" if count == 1 else f"{count} faults"
        raise Refused(f"{faults} in the sheet; nothing was written\n{error}") from None
    for address, entry in found.readings.items():
        print(f"entry {entry}: {plain_name(address)}")
    for fact in found.facts:
        print(f"part {fact}: written into its file")
    if found.part:
        print(f"map {found.part}: in {found.file}; it is not fitted by that")
    print(f"entry {found.remark}: {path.name} taken in, filled in by {found.who}")
    day = next(e.at for e in opened.journal.entries() if e.id == found.remark)[:10]
    if day > date.today().isoformat():
        right = f"drybuild correct {arguments.dir} {found.remark} --dated DAY --who NAME"
        print(f"its day, {day}, is ahead of today; if that is a slip: {right}")
    if found.part:
        print(_to_plan(opened, found.part))
    print(f"next: drybuild check {arguments.dir}")
    return 0


def _to_plan(opened: Any, part: str) -> str:
    """What makes a map of a sheet one that is fitted: a job, after those that fit one already."""
    earlier = ", ".join(f'"{job.id}"' for job in opened.build.jobs if "map" in job.fit)
    lines = [
        "to plan it, write this into build.toml; check then holds it against the hardware, and on "
        "the screens its page among the parts compares it with the map that is planned:",
        "  [[job]]", f'  id = "flash-{part.replace("_", "-")}"', f'  title = "map {part} flashed"',
        f'  fit = {{ map = "{part}" }}', *([f"  after = [{earlier}]"] if earlier else []),
    ]  # fmt: skip
    return "\n".join(lines)
