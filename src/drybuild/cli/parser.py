"""The arguments of the ``drybuild`` command, as a garage owner reads them."""

from __future__ import annotations

import argparse
from typing import Any

import drybuild
from drybuild.cli.addresses import run_addresses
from drybuild.cli.arguments import command, entries_or_name, folder, state, who, whole
from drybuild.cli.examining import run_check, run_fix, run_measure, run_workings
from drybuild.cli.fitting import run_what_fits
from drybuild.cli.noting import run_note
from drybuild.cli.papers import add_papers
from drybuild.cli.parser_journal import add_journal
from drybuild.cli.parser_work import add_work
from drybuild.cli.serving import add_serve
from drybuild.cli.setting import run_alignment
from drybuild.cli.starting import run_blend, run_demo, run_new, run_schema
from drybuild.cli.writing import run_did, run_undo

USES = ("move", "turn over", "run", "creep", "drive", "full load", "compete")


BEGIN = """\
To begin:
  drybuild demo                      look at an invented car first
  drybuild new my-car                 make a folder for yours; four questions
  drybuild check my-car               what it may do, and what stops it
  drybuild measure my-car             where ten minutes with a tape settle most
  drybuild addresses my-car WORDS     what it is called: rear left ride height
  drybuild COMMAND --help            more on one command

A build is a folder of text files: build.toml (goals, jobs), car.toml (your car),
parts/ (what goes on it). Nothing here says that a car may be driven: hand checks,
the maker's data, local rules and licensed people decide.
"""


class _CommandsHelp(argparse.RawDescriptionHelpFormatter):
    """Help whose list of commands has room for the longest of them."""

    def add_argument(self, action: argparse.Action) -> None:
        super().add_argument(action)
        if action.nargs == argparse.PARSER and action.choices is not None:
            # The commands stand two steps in, of which the one is not counted.
            longest = max(len(name) for name in action.choices)
            indent = self._current_indent + 2 * self._indent_increment
            self._action_max_length = max(self._action_max_length, longest + indent)


def make_parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="drybuild",
        description="A trial assembly of your whole car on the computer: what goes together,\nwhat "
        "gives way first, what the car may do now, and what to measure next.",
        epilog=BEGIN,
        formatter_class=_CommandsHelp,
    )
    parser.add_argument("--version", action="version", version=f"drybuild {drybuild.__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")
    _new(commands)
    _check(commands)
    _measure(commands)
    _workings(commands)
    _fix(commands)
    _what_fits(commands)
    _alignment(commands)
    _addresses(commands)
    _note(commands)
    _did(commands)
    _undo(commands)
    add_work(commands)
    add_journal(commands)
    add_papers(commands)
    _blend(commands)
    add_serve(commands)
    _schema(commands)
    _demo(commands)
    return parser


def _new(commands: Any) -> None:
    parser = command(
        commands, "new", "start a build folder from four plain questions", run_new,
        examples=("my-car", "--list", 'my-car --nearest light-roadster --first "lower it"'),
        more="Asks what is not given here; \"don't know\" is an answer to every question.",
    )  # fmt: skip
    parser.add_argument("dir", metavar="DIR", nargs="?", help="where to put it")
    parser.add_argument("--list", action="store_true", help="list the starter cars and stop")
    parser.add_argument(
        "--nearest", metavar="CAR", help="starter car nearest to yours (--list shows them), or none"
    )
    parser.add_argument(
        "--driving", choices=("yes", "no", "don't know"), help="is it standard and driving today?"
    )
    parser.add_argument(
        "--inspection", metavar="WORDS", help="last inspection and known faults, or don't know"
    )
    parser.add_argument(
        "--first", metavar="WHAT",
        help="what you change, several apart by commas: wheels and tyres, lower it, more fuel, "
        "brakes, power, remap, a whole list",
    )  # fmt: skip


def _check(commands: Any) -> None:
    parser = command(
        commands, "check", "what the car may do, what stops it, what to measure", run_check,
        examples=("my-car", "my-car --state now", "my-car --all", "my-car --page my-car.html"),
        more="Looks at the car as planned unless told otherwise, and says beside it what\nthe "
        "car may do today.",
    )  # fmt: skip
    folder(parser)
    state(parser)
    parser.add_argument("--all", action="store_true", help="every reason, hand check and finding")
    parser.add_argument("--page", metavar="FILE", help="write it as one HTML page, with drawings")
    parser.add_argument("--json", action="store_true", help="print it for other programs, as JSON")
    parser.add_argument(
        "--strict", action="store_true", help="exit code 1 when the wanted use is stopped"
    )
    parser.add_argument(
        "--use", choices=USES, metavar="USE",
        help=f"the use wanted by --strict (else as build.toml says): {', '.join(USES)}",
    )  # fmt: skip


def _measure(commands: Any) -> None:
    parser = command(
        commands, "measure", "what to measure next, with what, and what it settles", run_measure,
        examples=("my-car", "my-car --state after:sat-1"),
    )  # fmt: skip
    folder(parser)
    state(parser)


def _finding_arguments(parser: argparse.ArgumentParser, left_out: str) -> None:
    folder(parser)
    text = "the check, as in [brackets] by check --all; its last word will do"
    text += f"; left out: {left_out}"
    parser.add_argument("check", metavar="CHECK", nargs="?", help=text)
    parser.add_argument(
        "place", metavar="PLACE", nargs="?", help="where, e.g. rear.left (else the worst place)"
    )
    state(parser)


def _workings(commands: Any) -> None:
    text = "the formulas and numbers behind one finding, each with its source"
    _finding_arguments(
        command(
            commands, "workings", text, run_workings,
            examples=("my-car arch_bump_gap rear.left", "my-car fuel.injector_duty --units us"),
        ),
        "lists what is not enough",
    )  # fmt: skip


def _fix(commands: Any) -> None:
    parser = command(
        commands, "fix", "the smallest change that gives a finding the room it wants", run_fix,
        examples=(
            "my-car", "my-car arch_bump_gap rear.left", "my-car arch_bump_gap --keep 1",
            "my-car --add bar-links",
        ),
        more="Tries what you offer in build.toml under [[adjuster]]: what it shows was\nexamined "
        "on the whole car and makes nothing else worse. Beside that it names what is\nusual, "
        "such as adjustable links: --add puts that in as a job, its parts still to be\nchosen.",
    )  # fmt: skip
    _finding_arguments(parser, "the whole car")
    parser.add_argument(
        "--keep", type=whole, metavar="NUMBER", help="put that fix into build.toml as a job"
    )
    parser.add_argument(
        "--add", metavar="NAME", help="that usual cure as a job, its parts in parts/added.toml"
    )


def _what_fits(commands: Any) -> None:
    parser = command(
        commands, "what-fits", "which wheels and tyres fit, under all of the car's checks at once",
        run_what_fits,
        examples=(
            "my-car",
            'my-car --widths "7.5 to 9 in" --offsets "25 to 45 mm" --page fits.html',
            "my-car --axle front --rims rims.csv --tyres tyres.csv",
            'my-car --tyre "245/40 R17 91W" --must-fit',
        ),
        more="Without lists or ranges it looks around the planned wheel. With --must-fit it\nsays "
        "what must change so that one tyre fits.",
    )  # fmt: skip
    folder(parser)
    state(parser)
    parser.add_argument("--axle", choices=("front", "rear"), default="rear", help="which axle")
    parser.add_argument("--rims", metavar="FILE", help="a list of rims, .csv or .toml")
    parser.add_argument("--tyres", metavar="FILE", help="a list of tyres, .csv or .toml")
    parser.add_argument(
        "--widths", metavar="RANGE", help='rim widths by half inches: "7.5 to 9 in"'
    )
    parser.add_argument("--offsets", metavar="RANGE", help='by millimetres: "25 to 45 mm"')
    parser.add_argument("--sizes", metavar="SIZES", help='"235/40 R17, 245/40 R17", or all')
    parser.add_argument("--camber", metavar="RANGE", help='settings: "-2.5 to -1 deg by 0.5"')
    parser.add_argument("--spacer", metavar="SIZES", help='thicknesses: "0, 5, 10 mm"')
    parser.add_argument(
        "--offer", type=_offer, default=6, metavar="NUMBER", help="how many are examined and shown"
    )
    parser.add_argument(
        "--first", choices=("roomiest", "widest"), default="roomiest",
        help="what comes first among those that fit",
    )  # fmt: skip
    parser.add_argument(
        "--all", action="store_true", help="say of each all that it moves and that is not known"
    )
    parser.add_argument(
        "--tyre", metavar="TYRE", help="the one tyre that must fit: size, or its id"
    )
    parser.add_argument("--wheel", metavar="ID", help="with --must-fit: the wheel's id in parts/")
    parser.add_argument(
        "--must-fit", action="store_true", help="say what must change so that --tyre fits"
    )
    parser.add_argument("--page", metavar="FILE", help="write one self-contained HTML page")
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")


def _offer(text: str) -> int:
    found = whole(text)
    if not 1 <= found <= 40:
        raise argparse.ArgumentTypeError("between 1 and 40 can be offered")
    return found


def _alignment(commands: Any) -> None:
    parser = command(
        commands, "alignment",
        "the alignment sheet: before and after, what is left to set, and in which order",
        run_alignment,
        more="With corner weights, load transfer before and after, and the joints to tighten.",
        examples=("my-car", "my-car --page alignment.html", 'my-car --over "431.8 mm"'),
    )  # fmt: skip
    folder(parser)
    state(parser)
    parser.add_argument(
        "--over", metavar="LENGTH",
        help="diameter at which toe is said in mm or inches (else where it was read, or the rim)",
    )  # fmt: skip
    parser.add_argument("--page", metavar="FILE", help="write one HTML page with both drawings")


def _addresses(commands: Any) -> None:
    parser = command(
        commands, "addresses", "what can be noted: address, meaning, unit, what stands there now",
        run_addresses,
        examples=("my-car", "my-car rear left ride height", "my-car wheel", "my-car --all"),
        more="Say it in your own words, or name a table, a place or a part.",
    )  # fmt: skip
    folder(parser)
    parser.add_argument("words", metavar="WORD", nargs="*", help="what you have in mind")
    parser.add_argument("--all", action="store_true", help="everything, with its meaning")
    parser.add_argument(
        "--units", choices=("metric", "us"), help="units shown (else as the build says)"
    )


def _note(commands: Any) -> None:
    parser = command(
        commands, "note", "write down a reading you took", run_note,
        examples=(
            'my-car wheel.front.left.spoke_depth "48 mm" --with "depth gauge" --who Ilse',
            'my-car "rear tyre pressure" "2.1 bar gauge" --alike --with "tyre gauge" --who Ilse',
            'my-car axle.front.load_kerb "551 kg" "553 kg" --with scales --who Ilse',
            "my-car",
        ),
        more="Without a reading it says what can be noted, and as what.",
    )  # fmt: skip
    folder(parser)
    parser.add_argument(
        "address", metavar="WHAT", nargs="?",
        help="what was measured, as measure or addresses names it, or in your own words",
    )  # fmt: skip
    parser.add_argument(
        "value", metavar="READING", nargs="*", help='e.g. "62 mm" or "62 ± 2 mm"; several: repeats'
    )
    parser.add_argument(
        "--with", dest="tool", default="", metavar="TOOL",
        help="tape, rule, vernier, scales …; stamp: the number stands on it",
    )  # fmt: skip
    parser.add_argument(
        "--instrument", default="", metavar="NAME", help="which one, when you have several"
    )
    parser.add_argument(
        "--alike", action="store_true",
        help="WHAT is of several places (wheel offset): it was read at each, and is the same",
    )  # fmt: skip
    who(parser, required=False)


def _did(commands: Any) -> None:
    parser = command(
        commands, "did", "write down work that was done, or a hand check that was made", run_did,
        examples=(
            "my-car wheels --who Ilse",
            "my-car --fit wheel.front=loft_17x8 --who Ilse",
            "my-car --verify brakes.bled --value firm --tool eye --who Ilse --second Marten",
        ),
        more="A hand check needs its value, tool and name, for brakes and steering a second\n"
        "person too; a tick alone lifts nothing. Opening a joint again undoes its check.",
    )  # fmt: skip
    folder(parser)
    parser.add_argument("job", metavar="JOB", nargs="?", help="id of a job in build.toml")
    for option, metavar, text in (
        ("--fit", "PLACE=PART", "a part that was fitted, e.g. wheel.front=loft_17x8"),
        ("--remove", "PLACE", "what was taken off"),
        ("--set", "WHAT=VALUE", 'a setting, e.g. regulator.base_pressure="3 bar gauge"'),
        ("--open", "PLACE", "what was opened and is open still"),
        ("--close", "PLACE", "what was closed again"),
        ("--disturb", "WHAT", "what was disturbed, so that its readings no longer hold"),
    ):
        parser.add_argument(option, action="append", default=[], metavar=metavar, help=text)
    for option, metavar, text in (
        ("--verify", "ID", "a hand check, as check --all names it (repeatable)"),
        ("--value", "FOUND", "with --verify: what was read or found; one a check, in their order"),
        ("--tool", "TOOL", "with --verify: the tool used; one of all, or one a check"),
        ("--second", "NAME", "with --verify: the second person"),
    ):
        parser.add_argument(option, action="append", default=[], metavar=metavar, help=text)
    who(parser)


def _undo(commands: Any) -> None:
    parser = command(
        commands, "undo", "list what was written down, or take some of it back", run_undo,
        examples=("my-car", 'my-car 7 --who Ilse --why "wrong side"', "my-car 7 8 --who Ilse",
                  "my-car part.my_wheel.offset --who Ilse"),
        more="In the journal nothing is ever rubbed out: a second entry says that the first no\n"
        "longer counts. What note and fix wrote into files goes by its name; the list has it.",
    )  # fmt: skip
    folder(parser)
    parser.add_argument(
        "entry", metavar="NUMBER", type=entries_or_name, nargs="*",
        help="the entry, or several, such as 7 9 or 7-9, or a name; left out: list them all",
    )  # fmt: skip
    parser.add_argument("--why", default="", metavar="WORDS", help="what was wrong with it")
    parser.add_argument("--who", default="", metavar="NAME", help="name of who takes it back")


def _blend(commands: Any) -> None:
    parser = command(
        commands, "blend", "what to add to the tank to reach a wanted ethanol blend", run_blend,
        examples=('--in-tank "20 L" --tank "10 %" --add "51 to 85 %" --want "30 %"',),
    )  # fmt: skip
    share = 'ethanol by volume, e.g. "10 %%" or "51 to 85 %%"'
    parser.add_argument("--in-tank", required=True, metavar="VOLUME", help='e.g. "20 L"')
    parser.add_argument("--tank", required=True, metavar="SHARE", help=f"{share}, in the tank")
    parser.add_argument("--add", required=True, metavar="SHARE", help=f"{share}, at the pump")
    parser.add_argument("--want", required=True, metavar="SHARE", help=f"{share}, wanted")


def _schema(commands: Any) -> None:
    parser = command(
        commands, "schema", "rules of the files, for editors and other programs", run_schema,
        examples=("build", "--write my-car/schema"),
    )  # fmt: skip
    parser.add_argument(
        "name", nargs="?", choices=("build", "car", "parts", "work", "check", "answers"),
        help="which (answers: of plan, cards, done, quote, while-apart); else all",
    )  # fmt: skip
    parser.add_argument("--write", metavar="DIR", help="write those of the folder into DIR")


def _demo(commands: Any) -> None:
    parser = command(
        commands, "demo", "copy the invented demo build and examine it", run_demo,
        examples=("", "plover", "saturdays --work"),
    )  # fmt: skip
    parser.add_argument(
        "dir", metavar="DIR", nargs="?",
        help="the folder to make; left out: plover, or with --work saturdays, here",
    )  # fmt: skip
    parser.add_argument(
        "--work", action="store_true", help="the same car with six Saturdays of work to plan"
    )  # fmt: skip
