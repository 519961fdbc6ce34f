"""The models of ``work.toml``: what the owner knows better than the work library.

The library's own files are read through the same models, so that every table that stands there can
stand in a build's folder too, whole or only the keys that differ.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema
from pydantic_core import PydanticCustomError

from drybuild.build.model import Model

JobKind = Literal[
    "fit", "adjust", "inspect", "flash", "fill", "align", "test", "outside", "record"
]  # fmt: skip
Engine = Literal["", "cold", "runs"]
Use = Literal["move", "turn over", "run", "creep", "drive", "full load", "compete"]


def _refuse(found: Any, expected: str) -> PydanticCustomError:
    return PydanticCustomError(
        "work_entry", "found {found}; expected {expected}",
        {"found": repr(found)[:80], "expected": expected},
    )  # fmt: skip


def _hours(raw: Any) -> Any:
    """One figure is a fixed length; three are low, likely and high."""
    figures = list(raw) if isinstance(raw, list | tuple) else [raw]
    right = all(isinstance(f, int | float) and not isinstance(f, bool) for f in figures)
    if not right or len(figures) not in (1, 3):
        raise _refuse(raw, "hours as one figure, or [low, likely, high]")
    low, likely, high = figures if len(figures) == 3 else figures * 3
    if not 0 <= low <= likely <= high <= MOST_HOURS:
        raise _refuse(raw, f"hours with 0 ≤ low ≤ likely ≤ high ≤ {MOST_HOURS}")
    return (float(low), float(likely), float(high))


def _needs(raw: Any) -> Any:
    """A list of conditions; a list inside it holds alternatives, of which one is enough."""
    if not isinstance(raw, list | tuple):
        raise _refuse(raw, 'a list, as in ["undertray", ["raised_lift", "raised_front"]]')
    rows = []
    for entry in raw:
        ways = [entry] if isinstance(entry, str) else entry
        if not isinstance(ways, list | tuple) or not ways:
            raise _refuse(entry, "a condition, or a list of alternatives")
        if not all(isinstance(way, str) and way.strip() for way in ways):
            raise _refuse(entry, 'conditions in words, as in "undertray" or "tool:lift"')
        rows.append(tuple(ways))
    return tuple(rows)


MOST_HOURS = 400
"""Longer than this is no task of a build but a mistake of units."""

TaskHours = Annotated[
    tuple[float, float, float],
    BeforeValidator(_hours),
    WithJsonSchema({
        "description": "hours: one figure, of fixed length; or low, likely, high "
            "(10 such jobs in 100 are done by the low, 90 by the high)",
        "anyOf": [
            {"type": "number", "minimum": 0},
            {"type": "array", "items": {"type": "number"}, "minItems": 3, "maxItems": 3},
        ],
    }),
]  # fmt: skip
Needs = Annotated[
    tuple[tuple[str, ...], ...],
    BeforeValidator(_needs),
    WithJsonSchema({
        "description": "conditions, all of them; a list inside is of alternatives, any one of them",
        "type": "array",
        "items": {
            "anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}],
        },
    }),
]  # fmt: skip

Lines = tuple[str, ...]
People = Annotated[int, Field(ge=0, le=6)]


class Renewed(Model):
    """Something used up: a gasket, a one-time fastener, a fluid."""

    name: str
    quantity: float = Field(default=1.0, gt=0)
    unit: Literal["", "L", "mL", "g", "kg", "m"] = ""
    price: str = Field(default="", description="of one unit, with its currency")


class Told(Model):
    """What a person at the car is told of a task."""

    title: str = ""
    bench: Lines = Field(default=(), description="tools to have there")
    renew: tuple[Renewed, ...] = Field(default=(), description="what is renewed every time")
    cautions: Lines = ()
    steps: Lines = Field(default=(), description="in order")
    verify: Lines = Field(default=(), description="checks before closing")
    photograph: Lines = Field(default=(), description="what to take pictures of before")
    bag: Lines = Field(default=(), description="what to bag and label")
    tags: Lines = Field(default=(), description="what to hang in the car until it is lifted")
    joints: Lines = Field(default=(), description="joints that are tightened, as wheel_nuts.front")
    beforehand: Lines = Field(default=(), description="what is done before the day of the task")
    watched: bool = Field(default=False, description="somebody who is free then stands by")


class Aside(Model):
    """Moved aside without coming off: hung up, tied back, hoses left on."""

    title: str = ""
    behind: Needs | None = Field(default=None, description="unset: as for taking it off")
    take: TaskHours | None = Field(default=None, description="hours to move it aside")
    refit: TaskHours | None = Field(default=None, description="hours to put it back")
    stops: tuple[Use, ...] | None = Field(default=None, description="unset: as when it is off")
    people: People | None = None
    upsets: Lines = Field(default=(), description="effects that moving it has")
    steps: Lines = Field(default=(), description="in order")
    refit_steps: Lines = Field(default=(), description="in order, putting it back")
    bench: Lines = ()
    cautions: Lines = ()
    verify: Lines = ()
    renew: tuple[Renewed, ...] = Field(default=(), description="what is renewed putting it back")
    records: Lines = Field(default=(), description="hand checks that are made as it goes back")


class ComponentTable(Told):
    """Something that stands in the way and comes off, or a state of the car such as raised."""

    region: str = Field(default="", description="part of the car whose fasteners age alike")
    behind: Needs = Field(default=(), description="what must be off, aside or had to reach it")
    take: TaskHours | None = Field(default=None, description="hours to take it off")
    refit: TaskHours | None = Field(default=None, description="hours to refit it")
    people: People = Field(default=1, description="people it takes")
    refit_people: People | None = Field(default=None, description="unset: as to take it off")
    take_needs: Needs = Field(default=(), description="besides, to take it off only")
    refit_needs: Needs = Field(default=(), description="besides, to refit it only")
    relies: Needs = Field(default=(), description="what work that wants it off needs as well")
    stops: tuple[Use, ...] = Field(default=(), description="uses that it stops while it is off")
    upsets: Lines = Field(default=(), description="effects of taking it off")
    refit_upsets: Lines = Field(default=(), description="effects of refitting it")
    tools: Lines = Field(default=(), description="tools held while it lasts")
    engine: Engine = Field(default="", description="cold: comes off before it runs that day")
    take_first: Lines = Field(default=(), description="tasks that had better be over before it")
    refit_first: Lines = Field(default=(), description="the same of refitting it")
    refit_not_before: Lines = Field(default=(), description="effects that are cleared by that day")
    night: int = Field(default=1, ge=1, description="other things a night without it counts as")
    apart: Lines = Field(default=(), description="had better go on with no other of these")
    take_wait: float = Field(default=0.0, ge=0, description="hours after taking (drain, cool)")
    refit_wait: float = Field(default=0.0, ge=0, description="hours after refitting (cure)")
    take_title: str = Field(default="", description="unset: its title, and off")
    refit_title: str = Field(default="", description="unset: its title, and on")
    refit_steps: Lines = Field(default=(), description="in order, refitting")
    records: Lines = Field(default=(), description="hand checks that are made as it goes back")
    aside: Aside | None = None


class Clearing(Told):
    """The job that clears an effect; it is never shortened or left out."""

    kind: JobKind = "inspect"
    hours: TaskHours | None = None
    people: People = 1
    needs: Needs = ()
    upsets: Lines = ()
    tools: Lines = ()
    wait: float = Field(default=0.0, ge=0, description="hours that need nobody after it")
    engine: Engine = Field(default="", description="it runs, or is cold: done before it runs")
    first: Lines = Field(default=(), description="tasks that had better be over before it")
    apart: Lines = Field(default=(), description="had better go on with no other of these")
    not_before: Lines = Field(default=(), description="effects that are cleared by that day")
    records: Lines = Field(default=(), description="records that it makes")
    fails: float | None = Field(default=None, ge=0, le=1, description="chance of a bad finding")
    price: str = ""


class EffectTable(Model):
    """What work leaves behind until something clears it: coolant out, alignment owed."""

    title: str = ""
    region: str = ""
    stops: tuple[Use, ...] = ()
    lasting: float = Field(default=0.0, ge=0, description="hours after which it passes by itself")
    between: float = Field(default=0.0, ge=0, description="km driven before it can be cleared")
    owed: bool = Field(default=True, description="the work is not finished before it is cleared")
    clear: Clearing | None = None


class Setting(Told):
    """What it takes to set something at a place, where nothing is fitted."""

    open: Needs = ()
    hours: TaskHours | None = None
    people: People = 1
    upsets: Lines = ()


class PlaceTable(Told):
    """Fitting a part to a place, or leaving the place empty."""

    region: str = ""
    kind: JobKind = "fit"
    open: Needs = Field(default=(), description="what must be off, aside or had")
    hours: TaskHours | None = Field(default=None, description="of an axle pair, or of the one part")
    group: str = Field(default="", description="places whose work in one job is shared")
    also: TaskHours | None = Field(default=None, description="hours beside others of its group")
    people: People = 1
    upsets: Lines = ()
    tools: Lines = ()
    wait: float = Field(default=0.0, ge=0)
    map: tuple[Use, ...] = Field(
        default=(), description="uses that stop while part and map do not belong together"
    )
    setting: Setting | None = Field(default=None, description="when only something is set there")
    first: Lines = Field(default=(), description="tasks that had better be over before it")
    apart: Lines = Field(default=(), description="had better go on with no other of these")
    not_before: Lines = Field(default=(), description="effects that are cleared by that day")


class JobTable(Told):
    """A job that fits nothing: an oil change, a dyno day; or what a build's own job takes."""

    kind: JobKind = "adjust"
    region: str = ""
    open: Needs = ()
    hours: TaskHours | None = None
    people: People = 1
    upsets: Lines = ()
    clears: Lines = Field(default=(), description="effects that it clears")
    tools: Lines = ()
    wait: float = Field(default=0.0, ge=0)
    engine: Engine = Field(default="", description="it runs, or is cold: done before it runs")
    first: Lines = Field(default=(), description="tasks that had better be over before it")
    apart: Lines = Field(default=(), description="had better go on with no other of these")
    not_before: Lines = Field(default=(), description="effects that are cleared by that day")
    records: Lines = ()
    fixed: bool | None = Field(default=None, description="never shortened or left out")
    fails: float | None = Field(default=None, ge=0, le=1, description="chance of a bad finding")
    price: str = Field(default="", description="of outside work, with its currency")


class ToolTable(Model):
    """A tool that not every car owner has."""

    title: str = ""
    usual: bool = Field(default=False, description="taken to be at hand unless told otherwise")


class WearTable(Told):
    """Something that wears out and that an opened car lays bare: a belt, a bearing, a hose."""

    region: str = ""
    open: Needs = ()
    hours: TaskHours | None = None
    people: People = 1
    upsets: Lines = ()
    tools: Lines = ()
    price: str = Field(default="", description="of the part, with its currency")
    km: float | None = Field(default=None, gt=0, description="characteristic life, km")
    years: float | None = Field(default=None, gt=0, description="characteristic life, years")
    shape: float = Field(default=3.0, gt=0, description="of the Weibull life")
    life_doubt: float = Field(default=1.4, ge=1, description="factor either way")
    renewed_km: float = Field(default=0.0, ge=0, description="odometer when last renewed")
    renewed_years: float = Field(default=0.0, ge=0, description="car's age when last renewed")
    damage: str = Field(default="", description="what its failing costs besides, with currency")
    source: str = Field(default="common practice", description="whence the life")
    fitted_at: Lines = Field(default=(), description="places whose new part renews it anyway")


class WorkTables(Model):
    """Tables of work by id."""

    component: dict[str, ComponentTable] = Field(default_factory=dict)
    effect: dict[str, EffectTable] = Field(default_factory=dict)
    place: dict[str, PlaceTable] = Field(default_factory=dict)
    job: dict[str, JobTable] = Field(default_factory=dict)
    tool: dict[str, ToolTable] = Field(default_factory=dict)
    wear: dict[str, WearTable] = Field(default_factory=dict)
    without: Lines = Field(
        default=(), description="components and wear the car has not got: nothing waits on them"
    )


class WorkFile(WorkTables):
    """What the owner knows better than the work library, table by table and key by key."""

    format: Literal[1] = Field(description="format number of the file")
