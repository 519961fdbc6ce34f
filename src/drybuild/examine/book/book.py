"""The whole book as data: one examination of the car as built, and all that stands beside it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from drybuild.build.folder import BookHead, Job
from drybuild.build.kinds.identity import Photograph
from drybuild.examine.book.fingerprint import Imprint, imprint
from drybuild.examine.book.identity import BuiltPart, Fact, built_parts, identity, listed
from drybuild.examine.book.limits import Limit, limits
from drybuild.examine.book.papers import Papers, papers
from drybuild.examine.book.readings import Taken, taken
from drybuild.examine.book.records import Made, Worked, done, made, owed, still_open
from drybuild.examine.book.rules import RulesRead, not_assessed, rules_read
from drybuild.examine.examination import DRAWS, SEED, Examination
from drybuild.examine.opened import OpenBuild
from drybuild.examine.photographs import Kept, kept, of_the_car
from drybuild.examine.uses import Owed
from drybuild.journal import Fill, Torque
from drybuild.values import System


@dataclass(frozen=True)
class Book:
    """Everything that the book says. examination: of the car as it stands, and of nothing else.

    body_work: what was cut, welded or rolled; None where nobody said anything of it.
    on_cards: photographs of the work, which stay in the folder.
    notes: stale readings, clashes and known faults, as everywhere.
    """

    imprint: Imprint
    head: BookHead
    examination: Examination
    identity: tuple[Fact, ...]
    papers_of_car: tuple[str, ...]
    body_work: tuple[str, ...] | None
    photographs: tuple[Photograph, ...]
    on_cards: tuple[Kept, ...]
    parts: tuple[BuiltPart, ...]
    documents: tuple[Papers, ...]
    limits: tuple[Limit, ...]
    readings: tuple[Taken, ...]
    rules: tuple[RulesRead, ...]
    not_assessed: tuple[str, ...]
    deeds: tuple[Worked, ...]
    made: tuple[Made, ...]
    owed: tuple[Owed, ...]
    torques: tuple[Torque, ...]
    fills: tuple[Fill, ...]
    still_open: tuple[Job, ...]
    notes: tuple[str, ...]


def make_book(
    opened: OpenBuild,
    *,
    made_on: datetime | None = None,
    revision: str = "",
    draws: int = DRAWS,
    seed: int = SEED,
    system: System = "metric",
) -> Book:
    """The book of the car as it stands. made_on: its date, else now."""
    examination = opened.examine("now", draws=draws, seed=seed)
    facts = {a for f in examination.findings if f.armed for a in f.facts}
    readings = taken(opened, facts)
    parts = built_parts(opened)
    return Book(
        imprint=imprint(opened, made_on or datetime.now(), revision),
        head=opened.build.book, examination=examination, identity=identity(opened),
        papers_of_car=listed(opened, "papers") or (), body_work=listed(opened, "body_work"),
        photographs=(*opened.build.photographs, *of_the_car(opened)),
        on_cards=tuple(k for k in kept(opened) if k.task), parts=parts, documents=papers(parts),
        limits=limits(examination, readings, system), readings=readings,
        rules=rules_read(examination), not_assessed=not_assessed(examination),
        deeds=done(opened), made=made(opened), owed=owed(opened),
        torques=opened.journal.torques(), fills=opened.journal.fills(),
        still_open=still_open(opened), notes=tuple(opened.notes()),
    )  # fmt: skip
