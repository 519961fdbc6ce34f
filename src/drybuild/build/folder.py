"""The models of the folder's files: ``build.toml``, ``car.toml``, ``parts/*.toml``."""

from __future__ import annotations

from functools import cache
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field, create_model

from drybuild.build.kinds import part_kinds, sections
from drybuild.build.kinds.fastening import Word
from drybuild.build.kinds.identity import Photograph
from drybuild.build.model import Model
from drybuild.build.work_file import JobKind, Needs, People, TaskHours, Use

Known = Literal["assumed", "catalogue", "maker", "measured"]

Raw = str | int | float | bool | list[Any] | dict[str, Any]
"""A value still as written; it is read when the address it is set at is known."""


class Head(Model):
    """The first keys of every file."""

    format: Literal[1] = Field(description="format number of the file")
    known: Known = Field(default="catalogue", description="how the file's bare numbers are known")


class Person(Model):
    """Somebody who works on the car."""

    name: str
    note: str = ""


class Session(Model):
    """A stretch of time in which people work on the car."""

    id: str = Field(description="short name, e.g. sat-1")
    title: str = ""
    date: str = Field(default="", description="date, yyyy-mm-dd")
    start: str = Field(default="", description="time of day, hh:mm")
    end: str = Field(default="", description="time of day, hh:mm")
    people: tuple[str, ...] = Field(
        default=(), description='names; "Odile 13:00-17:00" for part of the time'
    )
    tools: tuple[str, ...] = Field(default=(), description="tools borrowed or hired for it")
    outside: str = Field(
        default="", description="where the car is meanwhile, when it is not at its own place"
    )


class Job(Model):
    """Work still to do, as the Changes it makes, and what is known of the work itself."""

    id: str = Field(description="short name; `drybuild did ID` records it as done")
    title: str = ""
    session: str = Field(default="", description="id of the work session it is planned for")
    fit: dict[str, str] = Field(default_factory=dict, description="place = part id")
    remove: tuple[str, ...] = Field(default=(), description="places emptied")
    set: dict[str, Raw] = Field(default_factory=dict, description="address = value")
    opens: tuple[str, ...] = Field(default=(), description="components opened on the way")
    disturbs: tuple[str, ...] = Field(default=(), description="addresses that are disturbed")
    like: str = Field(default="", description="job of the work library that it is")
    kind: JobKind | None = Field(default=None, description="unset: by what it fits or sets")
    hours: TaskHours | None = Field(default=None, description="unset: by the work library")
    people: People | None = Field(default=None, description="people it takes, all along")
    who: tuple[str, ...] = Field(default=(), description="the only people who may do it")
    needs: Needs = Field(default=(), description="what must be off, had or allowed, besides")
    upsets: tuple[str, ...] = Field(default=(), description="effects that it has, besides")
    clears: tuple[str, ...] = Field(default=(), description="effects that it clears")
    after: tuple[str, ...] = Field(default=(), description="jobs that come before it")
    lag: float = Field(default=0.0, ge=0, description="hours between those and it")
    arrives: str = Field(default="", description="date from which all it needs is in hand")
    booked: tuple[str, ...] = Field(default=(), description="the only sessions it may be in")
    price: str = Field(default="", description="of all parts and outside work, with its currency")
    fixed: bool | None = Field(default=None, description="never shortened or left out")
    note: str = ""


class WantedUse(Model):
    """A use that the car must be allowed on a day, or after a work session."""

    use: Use = "drive"
    day: str = Field(
        default="", description="a date, yyyy-mm-dd, or a day of the week: every one of them"
    )
    not_on: tuple[str, ...] = Field(
        default=(), description="of a day of the week, the dates on which it is not wanted"
    )
    after: str = Field(default="", description="id of a work session, in place of a day")
    at: str = Field(default="07:00", description="time of day from which it is wanted")
    waive: int = Field(default=0, description="what is given up first has the lowest figure")


class Lent(Model):
    """A tool that is at hand for some of the time."""

    tool: str
    sessions: tuple[str, ...] = Field(default=(), description="ids of work sessions")
    since: str = Field(default="", description="date from which it is there")
    until: str = Field(default="", description="last date on which it is there")


class Spend(Model):
    """What may be spent by the end of a month, all that came before it included."""

    month: str = Field(description="yyyy-mm")
    most: str = Field(description="amount with its currency")


class WorkHead(Model):
    """The work: what it is planned with."""

    outline: str = Field(default="", description="outline of the work library; unset: by the car")
    percentile: float = Field(
        default=80, ge=50, le=99, description="chance, %, with which a session's work fits into it"
    )
    first: Literal["hours", "finish"] = Field(
        default="hours", description="what matters first: least hours, or an early finish"
    )
    suppose: bool = Field(
        default=True, description="whether a plan may take what nobody has measured yet to turn "
        "out well, where none is found without",
    )  # fmt: skip
    as_of: str = Field(default="", description="day from which one plans; unset: today")
    tools: tuple[str, ...] | None = Field(
        default=None, description="tools always at hand; unset: what is usual at home"
    )
    labour_rate: str = Field(default="", description="per person-hour, with its currency")
    currency: str = Field(default="", description="of all answers, as EUR; unset: the parts' own")
    rates: dict[str, float] = Field(
        default_factory=dict, description="another currency = what one of it is in this one"
    )
    budget_per_month: str = Field(default="", description="amount with its currency")
    age: float | None = Field(
        default=None, ge=0, description="of the car, years; unset: by its first registration"
    )
    odometer: float | None = Field(default=None, ge=0, description="km on the car")
    yearly: float | None = Field(default=None, ge=0, description="km driven a year")


class Adjuster(Model):
    """Something the owner is willing to change to cure a finding."""

    address: str = Field(description="address that is set, or place that is fitted")
    title: str = Field(default="", description="what one does, in words")
    low: Raw | None = Field(default=None, description="lowest setting")
    high: Raw | None = Field(default=None, description="highest setting")
    steps: int = Field(default=9, ge=2, le=41, description="settings tried from low to high")
    choices: tuple[Raw, ...] = Field(default=(), description="settings or part ids to try")
    together: tuple[str, ...] = Field(
        default=(), description="other addresses that move with it (both sides of an axle)"
    )
    effort: float = Field(
        default=1.0, ge=0, description="how much it is to do; smaller is tried first"
    )


class BuildHead(Model):
    """The [build] table."""

    name: str
    scenario: str = Field(default="", description="what this build is; says so when invented")
    use: str = Field(default="drive", description="the use wanted, for --strict")
    units: Literal["metric", "us"] = "metric"
    rule_sets: tuple[str, ...] = Field(default=(), description="ids of the rule sets that apply")
    driving: bool | None = Field(
        default=None, description="is it standard and driving today? unset: don't know"
    )
    driving_stated: str = Field(default="", description="who says so and when")
    last_inspection: str = Field(default="", description="date and result of the last inspection")
    known_faults: tuple[str, ...] = Field(default=(), description="faults known today")
    asked: str = Field(
        default="", description="check and place that are said first while they stop or are unsure"
    )


class Instrument(Model):
    """A measuring instrument, so that the book can say when it was last calibrated."""

    name: Word = Field(description="as readings name it, e.g. scales 2")
    is_a: Word = Field(default="", description="kind of instrument, as readings name it: scales")
    serial: Word = Field(default="", description="number on it")
    calibrated: Word = Field(default="", description="date of its last calibration, yyyy-mm-dd")
    certificate: Word = Field(default="", description="number of the certificate, and whose")


class BookHead(Model):
    """The build book: who signs for what, and which revision it is."""

    revision: Word = Field(default="", description="e.g. B; unset: not named, the last entry")
    owner: Word = Field(default="", description="name of the owner, who declares")
    workshop: Word = Field(default="", description="name of the workshop that did the work")
    engineer: Word = Field(default="", description="name and licence of the inspecting engineer")
    workshop_scope: tuple[Word, ...] = Field(
        default=(), description="what the workshop did; unset: a blank to fill in by hand"
    )
    engineer_scope: tuple[Word, ...] = Field(
        default=(), description="what the engineer inspected; unset: a blank to fill in by hand"
    )


class OwnLook(Model):
    """Something that a club's form has and ours has not."""

    title: Word
    look: Word = Field(default="", description="what is looked at")


class ScrutineerHead(Model):
    """The side for the scrutineer: class, number, and the order of a club's own form."""

    club: Word = Field(default="", description="club or event")
    form: Word = Field(default="", description="name and edition of the club's form")
    entrant: Word = ""
    car_class: Word = Field(default="", description="class that the car is entered in")
    number: Word = Field(default="", description="number on its doors")
    items: tuple[str | OwnLook, ...] = Field(
        default=(), description="items in the order of the club's form; unset: our own order"
    )


def _table_fields(names: tuple[str, ...]) -> dict[str, Any]:
    known = sections()
    return {
        n: (known[n] | None, Field(default=None, description=_first(known[n])))
        for n in names
        if n in known
    }


def _first(model: type[BaseModel]) -> str:
    return (model.__doc__ or "").strip().split("\n")[0]


BUILD_SECTIONS = ("site", "goal")


@cache
def build_file() -> type[Model]:
    """Model of ``build.toml``."""
    fields: dict[str, Any] = {
        "build": (BuildHead, Field(description="what this build is")),
        "crew": (tuple[Person, ...], Field(default=())),
        "work": (WorkHead, Field(default_factory=WorkHead, description="how work is planned")),
        "session": (tuple[Session, ...], Field(default=())),
        "need": (tuple[WantedUse, ...], Field(default=())),
        "lent": (tuple[Lent, ...], Field(default=())),
        "budget": (tuple[Spend, ...], Field(default=())),
        "job": (tuple[Job, ...], Field(default=())),
        "adjuster": (tuple[Adjuster, ...], Field(default=())),
        "instrument": (tuple[Instrument, ...], Field(default=())),
        "book": (BookHead, Field(default_factory=BookHead, description="the build book")),
        "scrutineer": (
            ScrutineerHead,
            Field(default_factory=ScrutineerHead, description="the side for the scrutineer"),
        ),
        **_table_fields(BUILD_SECTIONS),
    }
    if "blend" in sections():
        table: Any = dict.__class_getitem__((str, sections()["blend"]))
        fields["blend"] = (table, Field(default_factory=dict, description="fuels by id"))
    return create_model(
        "BuildFile", __base__=Head, __doc__="The build: goals, crew, work.", **fields
    )


@cache
def car_file() -> type[Model]:
    """Model of ``car.toml``."""
    known = sections()
    fields: dict[str, Any] = {
        "name": (str, Field(description="the car's name")),
        "outline": (str, Field(default="", description="starter car it began from")),
        "fitted": (
            dict[str, Any],
            Field(default_factory=dict, description='place = part id, or "none"'),
        ),
        "photograph": (tuple[Photograph, ...], Field(default=())),
    }
    for name, model in known.items():
        if name in (*BUILD_SECTIONS, "blend"):
            continue
        fields[name] = (
            _grouped(name, model) | None,
            Field(default=None, description=_first(model)),
        )
    return create_model("CarFile", __base__=Head, __doc__="The car as driven in.", **fields)


def _grouped(name: str, model: Any) -> Any:
    if name == "axle":
        return create_model(
            "Axles", __base__=Model, front=(model | None, None), rear=(model | None, None)
        )
    if name == "corner":
        sided = create_model(
            "CornerPair", __base__=model, left=(model | None, None), right=(model | None, None)
        )
        return create_model(
            "Corners", __base__=Model, front=(sided | None, None), rear=(sided | None, None)
        )
    return model


@cache
def parts_file() -> type[Model]:
    """Model of a file in ``parts/``."""
    kinds = tuple(part_kinds().values())
    union: Any = kinds[0]
    for kind in kinds[1:]:
        union = union | kind
    part: Any = Annotated[union, Field(discriminator="kind")] if len(kinds) > 1 else union
    table: Any = dict.__class_getitem__((str, part))
    return create_model(
        "PartsFile",
        __base__=Head,
        __doc__="Parts by id, each with a kind.",
        part=(table, Field(default_factory=dict)),
    )
