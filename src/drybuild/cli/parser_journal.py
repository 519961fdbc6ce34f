"""The arguments of the commands of the record."""

from __future__ import annotations

from typing import Any

from drybuild.cli.arguments import command, folder, who, whole
from drybuild.cli.journaling import run_correct, run_jot, run_journal
from drybuild.journal.entries import KINDS


def add_journal(commands: Any) -> None:
    """Adds journal, jot and correct."""
    _journal(commands)
    _jot(commands)
    _correct(commands)


def _journal(commands: Any) -> None:
    parser = command(
        commands, "journal", "the record: show it, look whether it is as written, carry it as text",
        run_journal,
        examples=(
            "my-car",
            "my-car --kind torque",
            "my-car --verify",
            'my-car --printed "41 · 3f9a 81c0 77de 02bb"',
            "my-car --export record.txt",
            "othercopy --import record.txt",
        ),
        more="Entries are never changed: each carries a mark drawn from it and from the one\n"
        "before. The head, printed on cards and in the book, stands for all up to there.",
    )  # fmt: skip
    folder(parser)
    parser.add_argument(
        "--kind", metavar="KIND", help=f"only entries of this kind: {', '.join(KINDS)}"
    )
    parser.add_argument(
        "--verify", action="store_true",
        help="hold every entry against its mark; exit code 2 when one does not fit",
    )  # fmt: skip
    parser.add_argument(
        "--printed", metavar="HEAD", help="whether the record still is the one with this head"
    )
    parser.add_argument("--export", metavar="FILE", help="write it out as text; - for the screen")
    parser.add_argument(
        "--import", dest="take_in", metavar="FILE",
        help="take the entries of a text that are not here yet, all or none; - to read them typed",
    )  # fmt: skip


def _jot(commands: Any) -> None:
    parser = command(
        commands, "jot", "write down what was tightened, filled, bagged, tagged, or a remark",
        run_jot,
        examples=(
            'my-car "third stud of the flange is stretched" --who Ilse',
            'my-car --torque "wheel nuts, front left" --figure FIGURE --tool "wrench 3" '
            "--document BOOK --second Marten --who Ilse",
            'my-car --fill cooling --quantity "5.4 L" --product "pink, mixed" --who Marten',
            'my-car --bag "turbo nuts, 4" --label T1 --place "shelf 2" --who Odile',
            'my-car --tag "DO NOT CRANK: map expects other injectors" --place key --who Ilse',
        ),
        more="A figure is the one that was set, from the maker's document for that thread and\n"
        "fastener. None of this lifts a hold: hand checks do, with did --verify.",
    )  # fmt: skip
    folder(parser)
    parser.add_argument("words", metavar="WORDS", nargs="*", help="a remark, or more about it")
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--torque", metavar="JOINT", help="a joint that was tightened")
    what.add_argument("--fill", metavar="WHERE", help="what was filled")
    what.add_argument("--bag", metavar="WHAT", help="what was put into a bag")
    what.add_argument("--tag", metavar="WORDS", help="a hold tag that was hung in the car")
    what.add_argument("--untag", metavar="WORDS", help="a hold tag that was taken down")
    for option, metavar, text in (
        ("--figure", "FIGURE", "torque: what was set, with its unit and angle"),
        ("--tool", "TOOL", "torque: with which wrench"),
        ("--second", "NAME", "torque: who saw it"),
        ("--document", "WHERE", "torque: where the maker says the figure"),
        ("--condition", "WORDS", "torque: thread dry, oiled, with locking compound"),
        ("--fastener", "WHICH", "torque: which fastener, new or used"),
        ("--quantity", "AMOUNT", 'fill: "5.4 L", "450 g", or to which mark'),
        ("--product", "WHICH", "fill: which fluid"),
        ("--label", "WORDS", "bag: what stands on it"),
        ("--place", "WHERE", "bag, tag: where it lies or hangs"),
        ("--task", "TASK", "the task of the plan that it belongs to"),
    ):
        parser.add_argument(option, default="", metavar=metavar, help=text)
    who(parser)


def _correct(commands: Any) -> None:
    parser = command(
        commands, "correct", "say what an entry of the journal should have said", run_correct,
        examples=(
            'my-car 14 quantity="4.4 L" --who Marten --why "misread the jug"',
            'my-car 3 reading="2332 mm" --who Ilse',
            "my-car 3 --dated 2026-12-04 --who Ilse",
        ),
        more="The entry stays readable as it was; it counts as corrected, in its old place. For\n"
        "something that never was so: undo.",
    )  # fmt: skip
    folder(parser)
    parser.add_argument("entry", metavar="NUMBER", type=whole, help="the entry")
    parser.add_argument("fields", metavar="FIELD=VALUE", nargs="*", help="only what was wrong")
    parser.add_argument("--why", default="", metavar="WORDS", help="what was wrong with it")
    parser.add_argument("--dated", default="", metavar="DATE", help="the date it should have had")
    parser.add_argument("--by", default="", metavar="NAME", help="the name it should have had")
    who(parser)
