"""The arguments of the commands of the work."""

from __future__ import annotations

import argparse
from typing import Any

from drybuild.cli.arguments import command, folder, number, whole
from drybuild.cli.doing import run_done
from drybuild.cli.working import run_cards, run_plan, run_quote, run_while_apart


def add_work(commands: Any) -> None:
    """Adds plan and what follows from it."""
    _plan(commands)
    _cards(commands)
    _done(commands)
    _while_apart(commands)
    _quote(commands)


def _common(parser: argparse.ArgumentParser) -> None:
    folder(parser)
    parser.add_argument(
        "--as-of", metavar="DAY", help="the day from which one plans, yyyy-mm-dd (else today, or "
        "as build.toml says)",
    )  # fmt: skip
    parser.add_argument("--json", action="store_true", help="print it for other programs, as JSON")


def _plan(commands: Any) -> None:
    parser = command(
        commands, "plan", "which work in which session, by whom, and what the car may do then",
        run_plan,
        examples=("my-car", "my-car --all", "my-car --anew --seconds 60", "my-car --first finish"),
        more="The car is where it is needed, each opening is shared, and the hours are least.\n"
        "Every state on the way goes through the same checks as check. The plan is kept in\n"
        "the folder; when the files or the journal have changed it is made again, near to\n"
        "the old one. Exit code 1: no plan meets every need; it says what would help.",
    )  # fmt: skip
    _common(parser)
    parser.add_argument("--all", action="store_true", help="every opening, reason and way back")
    parser.add_argument("--anew", action="store_true", help="plan without regard to the kept plan")
    parser.add_argument(
        "--former", action="store_true",
        help="take the plan before again, as it was; once more takes this one again",
    )  # fmt: skip
    parser.add_argument(
        "--by-region", action="store_true",
        help="beside it the same work one region after the other, and what the plan saves",
    )  # fmt: skip
    parser.add_argument(
        "--first", choices=("hours", "finish"), help="try what comes first: fewest hours or an "
        "early finish (build.toml decides for good)",
    )  # fmt: skip
    parser.add_argument(
        "--percentile", type=_percentile, metavar="P",
        help="try sessions filled so that each task keeps its time P in 100, 50 to 99 "
        "(build.toml decides for good)",
    )  # fmt: skip
    _solving(parser)


def _solving(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--seconds", type=_seconds, default=40.0, metavar="S",
        help="time to look for the best (40); all of planning: three times that, or three minutes",
    )  # fmt: skip
    parser.add_argument("--seed", type=whole, default=0, metavar="N", help=argparse.SUPPRESS)
    parser.add_argument(
        "--suppose-nothing", action="store_true", help="no plan rather than one that takes what "
        "nobody has measured yet to turn out well (build.toml decides for good)",
    )  # fmt: skip


def _cards(commands: Any) -> None:
    parser = command(
        commands, "cards", "job cards, hold tags, shopping list and day sheets of the plan",
        run_cards,
        examples=(
            "my-car", "my-car --session sat-1 --paper saturday.pdf", "my-car --card 3",
            "my-car --shopping", "my-car --calendar my-car.ics",
        ),
        more="Of the plan that is kept in the folder (drybuild plan makes it). Tightening\n"
        "figures are the maker's, or LOOK UP and a blank.",
    )  # fmt: skip
    _common(parser)
    parser.add_argument("--session", metavar="ID", help="only what belongs to one work session")
    parser.add_argument(
        "--card", type=whole, action="append", metavar="NUMBER", help="only this card (repeatable)"
    )
    shown = parser.add_mutually_exclusive_group()
    shown.add_argument("--shopping", action="store_true", help="the shopping list, with dates")
    shown.add_argument("--tags", action="store_true", help="the hold tags to hang in the car")
    shown.add_argument("--sheet", action="store_true", help="a sheet of each day, by person")
    parser.add_argument("--paper", metavar="FILE", help="write all, or what is asked for, as PDF")
    parser.add_argument("--calendar", metavar="FILE", help="write sessions and dates as .ics")


def _done(commands: Any) -> None:
    parser = command(
        commands, "done", "write down what was worked or what happened, and plan the rest again",
        run_done,
        examples=(
            "my-car card 7 --who Ilse", 'my-car "feed line and filter" --and-before --who Ilse',
            "my-car springs-front --who Ilse --with Marten --started 9:30 --ended 12:00",
            "my-car --session sat-1 --who Ilse",
            "my-car card 7 --and-before --who Ilse --as-of planned",
            "my-car turbo --left 1.5 --words \"one stud broke\" --who Marten",
            "my-car --happened late --say job=turbo --say until=2027-01-08 --who Ilse",
            "my-car --happened away --say person=Marten --say session=sat-2 --who Ilse",
            "my-car --happened extra --say id=stud --say \"title=stud drilled out\" "
            "--say hours=1,1.5,3 --say task=job:turbo --who Marten",
        ),
        more="What happened is one of: late (job, until), away (person, session, until),\n"
        "shortened (session, end), tool_gone (tool, session), extra (id, title, hours, task,\n"
        "until), longer (task, hours), dropped (job), moved (job, session), worked (session,\n"
        "before its day). The plan moves as little as it can; it says what moved and why. With\n"
        "--as-of planned all that is told was done on the day that the plan has it. Exit code 1:\n"
        "no plan meets every need.",
    )  # fmt: skip
    _common(parser)
    parser.add_argument(
        "task", metavar="TASK", nargs="*", help="card 7, a title or part of it, or the id that "
        "done shows in [ ] when it finds none",
    )  # fmt: skip
    parser.add_argument("--session", metavar="ID", help="all that was planned for a work session")
    rests = parser.add_mutually_exclusive_group()
    rests.add_argument(
        "--and-before", action="store_true",
        help="and what the plan has before it, which is open still",
    )  # fmt: skip
    rests.add_argument(
        "--alone", action="store_true", help="only what is named, whatever before it is open"
    )
    parser.add_argument("--who", default="", metavar="NAME", help="name of who writes it down")
    parser.add_argument(
        "--with", dest="people", action="append", default=[], metavar="NAME",
        help="who worked on it (repeatable; else as planned)",
    )  # fmt: skip
    parser.add_argument(
        "--at", default="", metavar="DATE",
        help="yyyy-mm-dd (else as planned, never later than today or --as-of)",
    )
    parser.add_argument("--started", default="", metavar="TIME", help="hh:mm")
    parser.add_argument("--ended", default="", metavar="TIME", help="hh:mm")
    parser.add_argument(
        "--hours", type=number, metavar="H", help="hours of the clock that it took: plans learn"
    )
    parser.add_argument(
        "--left", type=number, metavar="H", help="it was stopped; hours that it still wants"
    )
    parser.add_argument("--words", default="", help="anything worth keeping")
    parser.add_argument(
        "--happened", metavar="WHAT", choices=HAPPENINGS, help="something that happened"
    )
    parser.add_argument(
        "--say", action="append", default=[], metavar="NAME=VALUE", help="more of what happened"
    )
    _solving(parser)


HAPPENINGS = (
    "late", "away", "shortened", "tool_gone", "extra", "longer", "dropped", "moved", "worked"
)  # fmt: skip


def _while_apart(commands: Any) -> None:
    parser = command(
        commands, "while-apart", "what else lies open in each session, and what may wait",
        run_while_apart, examples=("my-car", "my-car --years 3"),
        more="What it costs now and later, how likely it is to be wanted, and what that saves.",
    )  # fmt: skip
    _common(parser)
    parser.add_argument(
        "--years", type=_years, default=5.0, metavar="Y", help="how far ahead to look (5)"
    )


def _quote(commands: Any) -> None:
    parser = command(
        commands, "quote", "how long, how sure, and what the plan costs", run_quote,
        examples=("my-car", "my-car --confidence 90 --round 50"),
        more="The plan carried out thousands of times: hours, the chance of each day, and a quote.",
    )  # fmt: skip
    _common(parser)
    parser.add_argument(
        "--confidence", type=_confidence, default=80.0, metavar="P",
        help="chance, in 100, that the hours are kept (80)",
    )  # fmt: skip
    parser.add_argument(
        "--round", type=_amount, metavar="AMOUNT", help="round the total up to a multiple of it"
    )


def _years(text: str) -> float:
    found = number(text)
    if not 0 < found <= 50:
        raise argparse.ArgumentTypeError("between 0 and 50 years")
    return found


def _confidence(text: str) -> float:
    found = number(text.lower().removeprefix("p"))
    if not 50 <= found <= 99.5:
        raise argparse.ArgumentTypeError("between 50 and 99.5")
    return found


def _amount(text: str) -> float:
    found = number(text)
    if not 0 < found < 1e9:
        raise argparse.ArgumentTypeError("an amount above 0")
    return found


def _percentile(text: str) -> float:
    found = number(text.lower().removeprefix("p"))
    if not 50 <= found <= 99:
        raise argparse.ArgumentTypeError("between 50 and 99")
    return found


def _seconds(text: str) -> float:
    found = number(text)
    if not 1 <= found <= 3600:
        raise argparse.ArgumentTypeError("between 1 and 3600 seconds")
    return found
