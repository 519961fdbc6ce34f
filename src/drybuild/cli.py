"""The ``drybuild`` command.

Exit codes: 0 examined, 1 with --strict when the wanted use is stopped, 2 for faults in the build
or in what was asked.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import drybuild

if TYPE_CHECKING:
    from drybuild.examine import Examination, Fix, OpenBuild
    from drybuild.findings import Finding
    from drybuild.values import System

USES = ("move", "turn over", "run", "creep", "drive", "full load", "compete")


class Refused(Exception):
    """Something asked for that cannot be done; the text says what would do."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command; returns the exit code."""
    arguments = _parser().parse_args(argv)
    if not hasattr(arguments, "run"):
        _parser().print_help()
        return 0
    from drybuild.build import BuildProblem
    from drybuild.journal import JournalProblem

    run: Callable[[argparse.Namespace], int] = arguments.run
    try:
        return run(arguments)
    except BuildProblem as error:
        faults = getattr(error, "faults", ())
        if faults:
            print(
                f"{len(faults)} fault{'s' if len(faults) != 1 else ''} in the build",
                file=sys.stderr,
            )
        print(error, file=sys.stderr)
    except (JournalProblem, Refused) as error:
        print(error, file=sys.stderr)
    except ImportError as error:
        print(error, file=sys.stderr)
    except BrokenPipeError:
        return 0
    except OSError as error:
        print(f"{error.filename or ''}: {error.strerror or error}", file=sys.stderr)
    return 2


def _parser() -> argparse.ArgumentParser:
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


def _opened(arguments: argparse.Namespace) -> OpenBuild:
    return drybuild.open_build(arguments.dir)


def _units(arguments: argparse.Namespace, opened: OpenBuild) -> System:
    return arguments.units or opened.build.head.units


def _examined(arguments: argparse.Namespace, opened: OpenBuild) -> Examination:
    if arguments.draws:
        return opened.examine(arguments.state, draws=arguments.draws)
    return opened.examine(arguments.state)


def run_check(arguments: argparse.Namespace) -> int:
    """``drybuild check``."""
    from drybuild.examine.as_json import check_json
    from drybuild.show.text import check_text

    opened = _opened(arguments)
    examination = _examined(arguments, opened)
    now = examination if examination.is_present else opened.examine("now")
    measurements = opened.measure_next(examination)
    system = _units(arguments, opened)
    if arguments.page:
        from drybuild.show.page import write_page

        write_page(Path(arguments.page), examination, now, measurements, system=system)
    if arguments.json:
        data = check_json(
            examination, measurements, version=drybuild.__version__, rule_sets=opened.rule_sets()
        )
        print(json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False))
    else:
        notes = opened.notes()
        print(
            check_text(
                examination,
                now,
                measurements,
                system=system,
                everything=arguments.all,
                notes=notes,
            )
        )
    if arguments.page and not arguments.json:
        print(f"\npage written to {arguments.page}")
    wanted = arguments.use or opened.build.head.use
    return 1 if arguments.strict and not examination.use(wanted).allowed else 0


def run_measure(arguments: argparse.Namespace) -> int:
    """``drybuild measure``."""
    from drybuild.show.text import measure_text

    opened = _opened(arguments)
    print(measure_text(opened.measure_next(_examined(arguments, opened))))
    return 0


def run_workings(arguments: argparse.Namespace) -> int:
    """``drybuild workings``."""
    from drybuild.examine import workings
    from drybuild.show.text import workings_text

    opened = _opened(arguments)
    examination = _examined(arguments, opened)
    system = _units(arguments, opened)
    for number, finding in enumerate(_found(examination, arguments)):
        print(("\n" if number else "") + workings_text(
            finding, workings(examination, finding, system), system
        ))  # fmt: skip
    return 0


def run_fix(arguments: argparse.Namespace) -> int:
    """``drybuild fix``."""
    from drybuild.examine import cure_all
    from drybuild.show.text import cure_text, fix_answer

    opened = _opened(arguments)
    examination = _examined(arguments, opened)
    system = _units(arguments, opened)
    if arguments.check is None:
        print(cure_text(cure_all(examination), system))
        return 0
    for number, finding in enumerate(_found(examination, arguments)):
        fixes = opened.fixes(examination, finding)
        print(("\n" if number else "") + fix_answer(finding, fixes, system))
        if arguments.keep is not None:
            _keep_fix(opened, finding, fixes, arguments.keep)
    return 0


def _keep_fix(opened: OpenBuild, finding: Finding, fixes: tuple[Fix, ...], number: int) -> None:
    from drybuild.build.editing import add_job
    from drybuild.show.sentences import fix_text

    if not 1 <= number <= len(fixes):
        raise Refused(f"no fix {number}: {len(fixes)} are offered")
    fix = fixes[number - 1]
    taken = {job.id for job in opened.build.jobs}
    stem = f"fix-{finding.check.split('.', 1)[1].replace('_', '-')}"
    name = next(n for n in (stem, *(f"{stem}-{i}" for i in range(2, 99))) if n not in taken)
    path = add_job(opened.build, name, fix_text(fix), fix.changes)
    print(f"\nfix {number} is now job {name!r} in {path}")


def _found(examination: Examination, arguments: argparse.Namespace) -> list[Finding]:
    """The finding asked for; without a place, the heaviest verdict of the check."""
    from drybuild.build.errors import nearest
    from drybuild.show.sentences import by_weight

    ids = tuple(dict.fromkeys(f.check for f in examination.findings))
    wanted = [i for i in ids if i == arguments.check or i.split(".", 1)[1] == arguments.check]
    if not wanted:
        hint = nearest(arguments.check, (*ids, *(i.split(".", 1)[1] for i in ids)))
        raise Refused(f"no check {arguments.check!r} on this car. {hint}".strip())
    found = [f for f in examination.findings if f.check == wanted[0]]
    if arguments.place:
        place = arguments.place.replace(" ", ".")
        chosen = [f for f in found if f.subject == place]
        if not chosen:
            known = ", ".join(f.subject for f in found)
            raise Refused(f"{wanted[0]} is not made at {arguments.place!r}; it is made at {known}")
        return chosen
    return sorted(found, key=by_weight)[:1]


def run_note(arguments: argparse.Namespace) -> int:
    """``drybuild note``."""
    from drybuild.build.state import _known_addresses, read_setting

    opened = _opened(arguments)
    texts = arguments.value
    raw: Any = texts[0] if len(texts) == 1 else texts
    if arguments.tool:
        raw = {"is": raw, "by": arguments.tool}
        if arguments.instrument:
            raw["tool"] = arguments.instrument
    written = []
    addresses = _known_addresses(arguments.address)
    for address in addresses:
        read_setting(address, raw)
    for address in addresses:
        entry = opened.journal.note(
            address, raw, who=arguments.who, instrument=arguments.instrument or arguments.tool,
            at=arguments.at,
        )  # fmt: skip
        written.append(f"entry {entry.id}: {address} = {', '.join(texts)}")
    print("\n".join(written))
    return 0


def run_did(arguments: argparse.Namespace) -> int:
    """``drybuild did``."""
    from drybuild.build import Change, job_changes

    opened = _opened(arguments)
    changes: list[Change] = []
    if arguments.job:
        if arguments.job in opened.present.done:
            raise Refused(f"job {arguments.job!r} is recorded as done already")
        changes += job_changes(opened.build.job(arguments.job))
    changes += [Change("open", c) for c in arguments.open]
    changes += [Change("disturb", c) for c in arguments.disturb]
    changes += [Change("remove", p) for p in arguments.remove]
    changes += [Change("fit", *_pair(text)) for text in arguments.fit]
    changes += [Change("set", *_pair(text)) for text in arguments.set]
    changes += [Change("close", c) for c in arguments.close]
    if arguments.verify:
        changes.append(_verification(opened, arguments))
    if not changes:
        raise Refused("say what was done: a job's id, or --fit, --set, --verify …")
    state = opened.present.state.after(changes)
    entry = opened.journal.did(changes, who=arguments.who, job=arguments.job or "", at=arguments.at)
    print(f"entry {entry.id}: " + "; ".join(str(c) for c in changes))
    owed = [r for r in opened.registry.records.values() if state.owed(r.changed, r.id)]
    for record in owed:
        print(f"now owed: {record.title} ({record.id})")
    return 0


def _verification(opened: OpenBuild, arguments: argparse.Namespace) -> Any:
    """A hand check: a tick is not enough where the record asks for value, tool and name."""
    from drybuild.build import Change
    from drybuild.build.errors import nearest

    record = opened.registry.records.get(arguments.verify)
    if record is None:
        hint = nearest(arguments.verify, tuple(opened.registry.records))
        raise Refused(f"no record {arguments.verify!r}. {hint}".strip())
    given = {"value": arguments.value, "tool": arguments.tool, "name": arguments.who}
    lacking = [e for e in record.evidence if not given.get(e, "")]
    if lacking:
        asked = ", ".join("--who" if e == "name" else f"--{e}" for e in lacking)
        raise Refused(f"{record.id}: a tick does not lift this; give {asked}")
    if record.second_person and (not arguments.second or arguments.second == arguments.who):
        raise Refused(f"{record.id}: a second person must see it; give --second NAME")
    given["second"] = arguments.second
    return Change("verify", record.id, {k: v for k, v in given.items() if v})


def _pair(text: str) -> tuple[str, str]:
    name, sign, value = text.partition("=")
    if not sign or not name.strip() or not value.strip():
        raise Refused(f"found {text!r}, expected NAME=VALUE")
    return name.strip(), value.strip()


def run_undo(arguments: argparse.Namespace) -> int:
    """``drybuild undo``."""
    from drybuild.journal import Journal

    journal = Journal(arguments.dir)
    if arguments.entry is None:
        standing = {e.id for e in journal.standing()}
        for e in journal.entries():
            gone = "" if e.kind == "undo" or e.id in standing else "  (undone)"
            print(
                f"{e.id:>4}  {e.at[:16]}  {e.who}  {e.kind}  {json.dumps(e.body, ensure_ascii=False)}{gone}"
            )
        return 0
    entry = journal.undo(arguments.entry, who=arguments.who, why=arguments.why)
    print(f"entry {entry.id}: undoes entry {arguments.entry}")
    return 0


def run_blend(arguments: argparse.Namespace) -> int:
    """``drybuild blend``."""
    import numpy as np

    from drybuild.systems.fuel.properties import mixed_fraction, volume_to_add
    from drybuild.values import Draws, ValueFault, parse_value, show

    try:
        tank = parse_value(arguments.in_tank, "volume")
        shares = [parse_value(t, "fraction") for t in (arguments.tank, arguments.add)]
        wanted = parse_value(arguments.want, "fraction").median
    except ValueFault as error:
        raise Refused(str(error)) from None
    present, added = (share.median for share in shares)
    litres = float(
        volume_to_add(
            present_volume=tank.median,
            present_fraction=present,
            added_fraction=added,
            wanted_fraction=wanted,
        )
    )
    if not np.isfinite(litres):
        raise Refused("that pump cannot bring the tank to the wanted blend, however much is added")
    draws = Draws()
    mixed = mixed_fraction(
        first_volume=tank.column(draws, "tank"),
        first_fraction=shares[0].column(draws, "in tank"),
        second_volume=litres,
        second_fraction=shares[1].column(draws, "pump"),
    )
    low, median, high = np.quantile(mixed, (0.025, 0.5, 0.975))
    print(f"add {show('volume', litres)}")
    print(f"ethanol then: {show('fraction', float(median), float(low), float(high))}")
    print("Pump blends vary (what is sold as E85 may hold 51 to 85 %): measure what you put in.")
    return 0


def run_schema(arguments: argparse.Namespace) -> int:
    """``drybuild schema``."""
    from drybuild.examine.schemas import schemas, write_schemas

    if arguments.write:
        for path in write_schemas(Path(arguments.write)):
            print(path)
        return 0
    found = schemas()
    shown = found[arguments.name] if arguments.name else found
    print(json.dumps(shown, ensure_ascii=False, indent=1))
    return 0


def run_new(arguments: argparse.Namespace) -> int:
    """``drybuild new``."""
    from drybuild.asking import ask_and_make, list_starters

    if arguments.list:
        print(list_starters())
        return 0
    print(
        ask_and_make(
            Path(arguments.dir),
            nearest=arguments.nearest,
            driving=arguments.driving,
            inspection=arguments.inspection,
            first=arguments.first,
        )  # fmt: skip
    )
    return 0


def run_demo(arguments: argparse.Namespace) -> int:
    """``drybuild demo``."""
    from drybuild.asking import copy_demo

    folder = Path(arguments.dir)
    copy_demo(folder)
    print(f"the demo build (invented) lies in {folder}\n")
    return main(["check", str(folder)])


if __name__ == "__main__":
    sys.exit(main())
