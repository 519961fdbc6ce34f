"""The arguments of the ``drybuild`` command, as a garage owner reads them."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Any

import drybuild
from drybuild.cli.examining import run_check, run_fix, run_measure, run_workings
from drybuild.cli.starting import run_blend, run_demo, run_new, run_schema
from drybuild.cli.writing import run_did, run_note, run_undo

USES = ("move", "turn over", "run", "creep", "drive", "full load", "compete")


def make_parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="drybuild",
        description="A trial assembly of your whole car on the computer: what goes together, what "
        "gives way first, what the car may do now, and what to measure next.",
    )
    parser.add_argument("--version", action="version", version=f"drybuild {drybuild.__version__}")
    commands = parser.add_subparsers(title="commands", metavar="")
    _new(commands)
    _check(commands)
    _measure(commands)
    _workings(commands)
    _fix(commands)
    _note(commands)
    _did(commands)
    _undo(commands)
    _blend(commands)
    _schema(commands)
    _demo(commands)
    return parser


def _command(
    commands: Any, name: str, text: str, run: Callable[[argparse.Namespace], int]
) -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = commands.add_parser(name, help=text, description=text)
    parser.set_defaults(run=run)
    return parser


def _folder(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("dir", metavar="DIR", help="the build folder")


def _state(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--state", default="finished", metavar="STATE",
        help="now, finished (every open job done; the default) or after:SESSION",
    )  # fmt: skip
    parser.add_argument(
        "--units", choices=("metric", "us"), help="units shown (else as the build says)"
    )
    parser.add_argument("--draws", type=_draws, default=None, help=argparse.SUPPRESS)


def _draws(text: str) -> int:
    number = int(text)
    if number < 64 or number > 262_144 or number & (number - 1):
        raise argparse.ArgumentTypeError("draws must be a power of two from 64 to 262144")
    return number


def _new(commands: Any) -> None:
    parser = _command(commands, "new", "start a build folder from four plain questions", run_new)
    _folder(parser)
    parser.add_argument("--nearest", help="starter car nearest to yours, or none")
    parser.add_argument(
        "--driving", choices=("yes", "no", "don't know"), help="is it standard and driving today?"
    )
    parser.add_argument("--inspection", help="last inspection and known faults, or don't know")
    parser.add_argument("--first", help="what you are changing first")
    parser.add_argument("--list", action="store_true", help="list the starter cars and stop")


def _check(commands: Any) -> None:
    text = "examine the car: what it may do, what stops it, what to measure"
    parser = _command(commands, "check", text, run_check)
    _folder(parser)
    _state(parser)
    parser.add_argument("--all", action="store_true", help="print every finding")
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")
    parser.add_argument("--page", metavar="FILE", help="write one self-contained HTML page")
    parser.add_argument("--use", choices=USES, help="the use wanted (else as the build says)")
    parser.add_argument(
        "--strict", action="store_true", help="exit 1 when the wanted use is stopped"
    )


def _measure(commands: Any) -> None:
    parser = _command(
        commands, "measure", "what to measure next, how, and what it settles", run_measure
    )
    _folder(parser)
    _state(parser)


def _finding_arguments(parser: argparse.ArgumentParser, optional: bool = False) -> None:
    _folder(parser)
    text = "id of the check, or its last word" + ("; none: all that is open" if optional else "")
    parser.add_argument("check", metavar="CHECK", nargs="?" if optional else None, help=text)
    parser.add_argument("place", metavar="PLACE", nargs="?", help="e.g. rear.left")
    _state(parser)


def _workings(commands: Any) -> None:
    text = "the chain of formulas and numbers behind a finding"
    _finding_arguments(_command(commands, "workings", text, run_workings))


def _fix(commands: Any) -> None:
    text = "the smallest change, of those the build declares, that makes a finding enough"
    parser = _command(commands, "fix", text, run_fix)
    _finding_arguments(parser, optional=True)
    parser.add_argument(
        "--keep", type=int, metavar="N", help="add fix N to build.toml as a job (comments stay)"
    )


def _who(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--who", required=True, help="name of who did it")
    parser.add_argument("--at", default="", help="date, yyyy-mm-dd (else now)")


def _note(commands: Any) -> None:
    parser = _command(commands, "note", "write down a reading you took", run_note)
    _folder(parser)
    parser.add_argument("address", help="what was measured, e.g. corner.rear.left.ride_height")
    parser.add_argument("value", nargs="+", help='the reading, e.g. "62 mm"; several are repeats')
    parser.add_argument("--with", dest="tool", default="", help="the tool: tape, vernier …")
    parser.add_argument("--instrument", default="", help="which one, when you have several")
    _who(parser)


def _did(commands: Any) -> None:
    text = "write down a job or a change that was done, or a hand check that was made"
    parser = _command(commands, "did", text, run_did)
    _folder(parser)
    parser.add_argument("job", nargs="?", help="id of a job in build.toml")
    parser.add_argument("--fit", action="append", default=[], metavar="PLACE=PART")
    parser.add_argument("--remove", action="append", default=[], metavar="PLACE")
    parser.add_argument("--set", action="append", default=[], metavar="ADDRESS=VALUE")
    parser.add_argument("--open", action="append", default=[], metavar="COMPONENT")
    parser.add_argument("--close", action="append", default=[], metavar="COMPONENT")
    parser.add_argument("--disturb", action="append", default=[], metavar="ADDRESS")
    parser.add_argument("--verify", metavar="RECORD", help="id of the record a hand check makes")
    parser.add_argument("--value", default="", help="with --verify: what was read or found")
    parser.add_argument("--tool", default="", help="with --verify: the tool used")
    parser.add_argument("--second", default="", help="with --verify: name of the second person")
    _who(parser)


def _undo(commands: Any) -> None:
    parser = _command(commands, "undo", "undo a journal entry by a compensating one", run_undo)
    _folder(parser)
    parser.add_argument("entry", type=int, nargs="?", help="number of the entry; none lists them")
    parser.add_argument("--why", default="")
    parser.add_argument("--who", default="", help="name of who undid it")


def _blend(commands: Any) -> None:
    text = "what to add to the tank to reach a wanted ethanol blend"
    parser = _command(commands, "blend", text, run_blend)
    share = 'ethanol by volume, e.g. "10 %%" or "51 to 85 %%"'
    parser.add_argument("--in-tank", required=True, metavar="VOLUME", help='e.g. "20 L"')
    parser.add_argument("--tank", required=True, metavar="SHARE", help=f"{share}, in the tank")
    parser.add_argument("--add", required=True, metavar="SHARE", help=f"{share}, at the pump")
    parser.add_argument("--want", required=True, metavar="SHARE", help=f"{share}, wanted")


def _schema(commands: Any) -> None:
    parser = _command(
        commands, "schema", "print or write the JSON Schemas of the files", run_schema
    )
    parser.add_argument("name", nargs="?", choices=("build", "car", "parts", "check"))
    parser.add_argument("--write", metavar="DIR", help="write all of them into DIR")


def _demo(commands: Any) -> None:
    parser = _command(commands, "demo", "copy the invented demo build and examine it", run_demo)
    parser.add_argument("dir", metavar="DIR", nargs="?", default="plover", help="where to put it")
