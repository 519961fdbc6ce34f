"""Commands that examine a build: check, measure, workings, fix."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING

import drybuild
from drybuild.cli.refused import Refused, in_utf8

if TYPE_CHECKING:
    from drybuild.examine import Examination, Fix, OpenBuild
    from drybuild.findings import Finding
    from drybuild.values import System


def run_check(arguments: argparse.Namespace) -> int:
    """``drybuild check``."""
    from drybuild.examine.as_json import check_json
    from drybuild.show.text import check_text

    opened = _opened(arguments)
    examination = _examined(arguments, opened)
    shown = arguments.page or not arguments.json
    now = opened.uses_now() if shown and not examination.is_present else examination
    measurements = opened.measure_next(examination)
    system = _units(arguments, opened)
    if arguments.page:
        from drybuild.show.charts import PageExtraMissing
        from drybuild.show.page import write_page

        try:
            write_page(
                Path(arguments.page), examination, now, measurements,
                system=system, folder=arguments.dir, notes=opened.notes(),
            )  # fmt: skip
        except PageExtraMissing as error:
            raise Refused(str(error)) from None
    if arguments.json:
        data = check_json(
            examination, measurements, version=drybuild.__version__, rule_sets=opened.rule_sets()
        )
        print(json.dumps(data, ensure_ascii=not in_utf8(), indent=1, allow_nan=False))
    else:
        notes = opened.notes()
        print(
            check_text(
                examination,
                now,
                measurements,
                system=system,
                folder=arguments.dir,
                everything=arguments.all,
                notes=notes,
            )
        )
    if arguments.page and not arguments.json:
        print(f"\nThe page is written: {arguments.page}")
    wanted = arguments.use or opened.build.head.use
    return 1 if arguments.strict and not examination.use(wanted).allowed else 0


def run_measure(arguments: argparse.Namespace) -> int:
    """``drybuild measure``."""
    from drybuild.show.answers import measure_text

    opened = _opened(arguments)
    examination = _examined(arguments, opened)
    print(measure_text(opened.measure_next(examination), examination, arguments.dir))
    return 0


def run_workings(arguments: argparse.Namespace) -> int:
    """``drybuild workings``."""
    from drybuild.examine import workings
    from drybuild.show.answers import workings_list, workings_text

    opened = _opened(arguments)
    examination = _examined(arguments, opened)
    if arguments.check is None:
        print(workings_list(examination, arguments.dir))
        return 0
    system = _units(arguments, opened)
    for number, finding in enumerate(_found(examination, arguments)):
        steps = workings(examination, finding, system)
        print(("\n" if number else "") + workings_text(finding, steps, examination, system))
    return 0


def run_fix(arguments: argparse.Namespace) -> int:
    """``drybuild fix``."""
    from drybuild.examine import cure_all
    from drybuild.examine.usual import beside, offers
    from drybuild.show.answers import cure_text, fix_answer
    from drybuild.show.usual_words import offers_text

    if arguments.check is None and arguments.keep is not None:
        raise Refused("--keep wants the check whose fix is to be planned")
    opened = _opened(arguments)
    examination = _examined(arguments, opened)
    system = _units(arguments, opened)
    if arguments.add:
        return _add_usual(arguments, opened, examination)
    usual = offers(examination) if examination.state.name == "finished" else ()
    command = f"drybuild fix {arguments.dir}"
    if arguments.check is None:
        cure = cure_all(examination)
        answers, rest = [cure_text(cure, system, arguments.dir)], beside(usual, cure.after)
        if rest:
            # Where no setting cures anything, what is usual is the answer and comes first.
            at = 1 if cure.fixes else 0
            answers.insert(at, offers_text(rest, examination, system, command))
        print("\n\n".join(answers))
        return 0
    for number, finding in enumerate(_found(examination, arguments)):
        fixes = opened.fixes(examination, finding)
        near = None if fixes else opened.nearest_fix(examination, finding)
        said = fix_answer(finding, fixes, examination, system, arguments.dir, near)
        print(("\n" if number else "") + said)
        mine = tuple(offer for offer in usual if finding in offer.findings)
        if mine:
            print(f"\n{offers_text(mine, examination, system, command)}")
        if arguments.keep is not None:
            offered = fixes if near is None else (near,)
            _keep_fix(opened, finding, offered, arguments.keep, arguments.dir)
    return 0


def _add_usual(arguments: argparse.Namespace, opened: OpenBuild, examination: Examination) -> int:
    """``drybuild fix --add``: a usual cure as a job, and the car examined with it."""
    from drybuild.build.errors import nearest
    from drybuild.examine.usual import offers, plan, usual_cures
    from drybuild.show.usual_words import added_text

    if examination.state.name != "finished":
        raise Refused("--add looks at the car as planned: leave --state out")
    found = {offer.usual.name: offer for offer in offers(examination)}
    if arguments.add not in found:
        if arguments.add in usual_cures():
            raise Refused(
                f"{arguments.add}: nothing that stops this car as planned asks for it; offered: "
                f"{', '.join(found) or 'nothing'}"
            )
        hint = nearest(arguments.add, tuple(usual_cures()))
        known = ", ".join(usual_cures())
        raise Refused(f"no usual cure {arguments.add!r}; there are: {known}. {hint}".strip())
    offer = found[arguments.add]
    job = plan(opened.build, offer)
    after = drybuild.open_build(arguments.dir).examine(draws=examination.draws)
    print(added_text(offer, job, after, _units(arguments, opened), arguments.dir))
    print(f"take it back: drybuild undo {arguments.dir} {job} --who NAME")
    return 0


def _keep_fix(
    opened: OpenBuild, finding: Finding, fixes: tuple[Fix, ...], number: int, folder: str
) -> None:
    from drybuild.build.editing import add_job
    from drybuild.examine.usual import BY_FIX
    from drybuild.show.sentences import fix_text

    if not 1 <= number <= len(fixes):
        raise Refused(f"no fix {number}: {len(fixes)} are offered")
    fix = fixes[number - 1]
    taken = {job.id for job in opened.build.jobs}
    stem = f"fix-{finding.check.split('.', 1)[1].replace('_', '-')}"
    name = next(n for n in (stem, *(f"{stem}-{i}" for i in range(2, 99))) if n not in taken)
    path = add_job(opened.build, name, fix_text(fix), fix.changes, comment=BY_FIX)
    print(f"\nFix {number} is planned now: job {name!r} in {path}")
    print(f"take it back: drybuild undo {folder} {name} --who NAME\nnext: drybuild check {folder}")


def _found(examination: Examination, arguments: argparse.Namespace) -> list[Finding]:
    """The finding asked for; without a place, the heaviest verdict of the check."""
    from drybuild.build.errors import nearest

    ids = tuple(dict.fromkeys(f.check for f in examination.findings))
    wanted = [i for i in ids if i == arguments.check or i.split(".", 1)[1] == arguments.check]
    if not wanted:
        hint = nearest(arguments.check, (*ids, *(i.split(".", 1)[1] for i in ids)))
        hint = hint or f"drybuild check {arguments.dir} --all has each in [brackets]."
        raise Refused(f"no check {arguments.check!r} on this car. {hint}")
    found = [f for f in examination.findings if f.check == wanted[0]]
    if arguments.place:
        place = arguments.place.replace(" ", ".")
        chosen = [f for f in found if f.subject == place]
        if not chosen:
            known = ", ".join(f.subject for f in found)
            raise Refused(f"{wanted[0]} is not made at {arguments.place!r}; it is made at: {known}")
        return chosen
    return sorted(found, key=lambda f: f.weight)[:1]


def _opened(arguments: argparse.Namespace) -> OpenBuild:
    return drybuild.open_build(arguments.dir)


def _units(arguments: argparse.Namespace, opened: OpenBuild) -> System:
    return arguments.units or opened.build.head.units


def _examined(arguments: argparse.Namespace, opened: OpenBuild) -> Examination:
    if arguments.draws:
        return opened.examine(arguments.state, draws=arguments.draws)
    return opened.examine(arguments.state)
