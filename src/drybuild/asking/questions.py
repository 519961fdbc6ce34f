"""The questions of a first visit: at most twelve, each of which may be answered "don't know".

Six to eight are counted on the screen, by what is changed first; with the last come who measured
and all else that is to be changed, with the drop in front and behind where it is lowered too.

An answer is text, as somebody types it; empty text is "don't know". What follows from the answers
is in ``beginning`` (the folder) and ``told`` (what is known with them).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

from drybuild.asking.understood import changes_named, nobody_knows
from drybuild.build.errors import UnknownName
from drybuild.build.new import DONT_KNOW, NONE, STARTERS
from drybuild.build.tyre_marking import MarkingError, TyreMarking, parse_marking
from drybuild.build.wheel_marking import WheelMarking, WheelMarkingError, parse_wheel
from drybuild.values import ValueFault, parse_value, with_point

MOST: Final = 12
"""Inputs that a first visit may ask for; a test holds it."""

FALLBACK: Final = "front-turbo-hatch"
"""The starter car for whoever does not know which is nearest: its doubt is wide, and the page says
that it was taken."""

WHO: Final = "the owner"
"""Who took a reading for which nobody gave a name."""

NEW_REAR = "Where front and rear differ: the front one here, the rear one afterwards under Parts."
NOW_REAR = (
    "Where front and rear differ: the front one here, the rear one afterwards in car.toml, "
    "under [fitted]."
)
"""Where the other goes of two that differ."""

STAND_INS: Final[Mapping[str, str]] = MappingProxyType({
    "wheels": "wheels and tyres", "springs": "lower it", "brakes": "brakes", "breathing": "power",
    "fuel": "more fuel", "map": "remap", "": DONT_KNOW,
})  # fmt: skip
"""What is changed first → the stand-ins of ``drybuild new``."""

Answers = Mapping[str, str]


class AnswerRefused(ValueError):
    """An answer that cannot be read; the text says what was found and what is expected."""


class FarOff(AnswerRefused):
    """A reading far off what the car as known can have: it is asked once whether it is so.

    read: as it is kept; given as ``sure`` it is taken.
    """

    def __init__(self, text: str, read: str) -> None:
        super().__init__(text)
        self.read = read


@dataclass(frozen=True, slots=True)
class Figure:
    """Where a number off a new part goes. path: keys in the file; kind, unit: of the quantity."""

    file: str
    path: tuple[str, ...]
    kind: str
    unit: str


@dataclass(frozen=True, slots=True)
class Question:
    """One question. where: on which thing one reads it; example: how it looks there.

    choices: answer → words, where there are only some; figure: where a number goes; wheel, tyre:
    whose marking it is (``now`` or ``new``).
    """

    name: str
    ask: str
    where: str = ""
    example: str = ""
    choices: Mapping[str, str] = field(default_factory=dict)
    figure: Figure | None = None
    wheel: str = ""
    tyre: str = ""


FIRST = Question(
    "first", "What are you changing first?",
    "One thing to begin with. All else that you mean to change comes at the end.",
    choices=MappingProxyType({
        "wheels": "Wheels and tyres", "springs": "Springs, to lower it",
        "brakes": "Brakes: discs, pads, fluid; bigger ones too",
        "breathing": "Breathing: intake, charge air, exhaust; a bigger turbo too",
        "fuel": "Fuel: injectors and pump",
        "map": "The map: a remap",
    }),
)  # fmt: skip
CAR = Question(
    "car", "Which of these is nearest to your car?",
    "Only to begin with: its numbers are guesses with wide doubt, until you measure your own.",
    choices=MappingProxyType(
        {**{k: v[:1].upper() + v[1:] for k, v in STARTERS.items()}, NONE: "None of these"}
    ),
)  # fmt: skip
DRIVING = Question(
    "driving",
    "Is it standard, and driving today?",
    "What nobody changes then stays as found, and is not asked about.",
    choices=MappingProxyType({"yes": "Yes", "no": "No, or not any more"}),
)
TYRE = Question(
    "tyre",
    "What stands on the tyre that is on it now?",
    f"On the sidewall. {NOW_REAR}",
    "225/45 R17 91W",
    tyre="now",
)
WHEEL = Question(
    "wheel",
    "What stands on the wheel that is on it now?",
    "On the back of a spoke or inside the rim. Offset and bolt holes only where you know them. "
    f"{NOW_REAR}",
    "8Jx17 5x112 ET35",
    wheel="now",
)
BIGGER = (
    "A bigger turbo goes with Breathing, bigger brakes with Brakes. Each begins with parts of "
    "standard size; the turbo, or the larger disc and its caliper, you then name under Parts, "
    "Add a part, and try there before you buy."
)
"""Where the two come that no stand-in is for."""
MEASURED = "measured"
WHO_ASKED = "who"
SURE = "sure"
"""The reading that was asked about, as it is kept: whoever sent it says that it is so."""
ALSO = "also"
"""All else that is to be changed: names of ``drybuild new`` apart by commas, as it reads them."""


def _figure(
    name: str, ask: str, where: str, example: str, path: str, kind: str, unit: str
) -> Question:
    file, keys = path.split(":")
    return Question(
        name, ask, where, example, figure=Figure(file, tuple(keys.split(".")), kind, unit)
    )


PARTS_FILE = "parts/first.toml"
NEW: Final[Mapping[str, tuple[Question, ...]]] = MappingProxyType({
    "wheels": (
        Question("new-wheel", "Which wheel do you want to put on?",
                 f"Its size, offset and bolt holes. None in mind yet: don't know. {NEW_REAR}",
                 "8.5Jx18 5x112 ET40",
                 wheel="new"),
        Question("new-tyre", "Which tyre do you want on it?",
                 f"As it will stand on the sidewall. {NEW_REAR}", "225/40 R18 92Y", tyre="new"),
    ),
    "springs": (
        _figure("front-drop", "How much lower in front, as the springs' maker says?",
                "On the box or in the papers.", "30 mm",
                f"{PARTS_FILE}:part.my_spring_front.stated_drop", "length", "mm"),
        _figure("rear-drop", "And behind?", "On the box or in the papers.", "25 mm",
                f"{PARTS_FILE}:part.my_spring_rear.stated_drop", "length", "mm"),
    ),
    "brakes": (
        _figure("pads", "Up to which temperature are the new pads meant to work?",
                "On the box or in the papers.", "550 °C",
                f"{PARTS_FILE}:part.my_pads_front.temperature_limit", "temperature", "°C"),
        _figure("fluid", "At how much does the new fluid boil when wet?",
                "On the bottle: the wet boiling point.", "195 °C",
                f"{PARTS_FILE}:part.my_brake_fluid.boil_wet", "temperature", "°C"),
    ),
    "breathing": (
        _figure("power", "How much power do you want?",
                "At the crankshaft. Your own wish: nothing here raises it for you.", "150 kW",
                "build.toml:goal.power", "power", "kW"),
        _figure("octane", "Which fuel do you fill?", "The octane number on the pump (RON).", "98",
                "build.toml:blend.petrol.research_octane", "number", ""),
    ),
    "map": (
        _figure("octane", "Which fuel do you fill?", "The octane number on the pump (RON).", "98",
                "build.toml:blend.petrol.research_octane", "number", ""),
    ),
    "fuel": (
        _figure("flow", "How much do the new injectors flow?",
                "In the maker's papers, one injector, held open.", "550 cc/min",
                f"{PARTS_FILE}:part.my_injectors.static_flow", "flow_volume", "cc/min"),
        _figure("pressure", "At which pressure was that?",
                "The pressure difference that stands beside it.", "3 bar",
                f"{PARTS_FILE}:part.my_injectors.rated_pressure", "pressure_difference", "bar"),
    ),
})  # fmt: skip
"""What is changed first → numbers of the new parts."""


def questions(answers: Answers) -> tuple[Question, ...]:
    """All that are asked on this way, but the one measurement and who took it."""
    return (FIRST, CAR, DRIVING, TYRE, WHEEL, *NEW.get(answers.get("first", ""), ()))


def others(answers: Answers) -> dict[str, str]:
    """What else may be changed, by the name that ``drybuild new`` has for it, in words."""
    said = {STAND_INS[key]: words for key, words in FIRST.choices.items()}
    return {k: v for k, v in said.items() if k != STAND_INS[answers.get("first", "")]}


def asked_along(answers: Answers) -> tuple[Question, ...]:
    """Numbers that may be given with all else that is to be changed: how much lower it comes."""
    return () if answers.get("first") == "springs" else NEW["springs"]


def with_lowering(also: str) -> str:
    """All else that is to be changed, where a drop was given: it is to be lowered too."""
    return ", ".join(changes_named(f"{also}, {STAND_INS['springs']}"))


def read_also(text: str) -> str:
    """The others that are named, as they are kept. Raises AnswerRefused."""
    try:
        return ", ".join(changes_named(text))
    except UnknownName as error:
        raise AnswerRefused(str(error)) from None


def pending(answers: Answers) -> Question | None:
    """The next question; None where only the measurement is left."""
    return next((q for q in questions(answers) if q.name not in answers), None)


def read(question: Question, text: str, answers: Answers) -> str:
    """An answer as it is kept. Raises AnswerRefused with what was expected."""
    said = " ".join(text.replace("−", "-").split())
    if nobody_knows(said):
        return ""
    if question.choices:
        if said not in question.choices:
            expected = ", ".join(question.choices)
            raise AnswerRefused(f"{said!r}: expected one of {expected}, or nothing")
        return said
    if (question.tyre or question.wheel) and of_both_ends(said):
        where = NEW_REAR if "new" in (question.tyre, question.wheel) else NOW_REAR
        raise AnswerRefused(f"{said!r} is of both ends. {where}")
    try:
        if question.tyre:
            return _agreeing_tyre(parse_marking(said), question.tyre, answers)
        if question.wheel:
            return _agreeing_wheel(parse_wheel(said), question.wheel, answers)
    except (MarkingError, WheelMarkingError) as error:
        raise AnswerRefused(str(error)) from None
    return with_unit(said, question.figure) if question.figure else said


_SIZES = re.compile(
    r"\d[.,\d]*\s*J{0,2}\s*[x×*]\s*(?:1\d|2[0-4])(?!\d)|\b\d{3}\s*/\s*\d{2}(?!\d)", re.I
)  # fmt: skip


def of_both_ends(said: str) -> bool:
    """Whether a text names two wheels or tyres, or which end of the car one is of."""
    return bool(re.search(r"\b(front|rear)\b", said, re.I)) or len(_SIZES.findall(said)) > 1


def with_unit(said: str, figure: Figure) -> str:
    """A number as a file takes it: its unit added where it was left out."""
    said = with_point(said)
    plain = re.fullmatch(r"[-+]?\d+([.,]\d+)?(\s*(±|\+/-|to)\s*\d+([.,]\d+)?)?", said)
    whole = f"{said} {figure.unit}".strip() if plain else said
    try:
        parse_value(whole, figure.kind)
    except ValueFault as error:
        raise AnswerRefused(str(error)) from None
    return whole


def tyre_of(answers: Answers, name: str) -> TyreMarking | None:
    """The tyre's marking under a question's name, if it was answered."""
    return parse_marking(answers[name]) if answers.get(name) else None


def wheel_of(answers: Answers, name: str) -> WheelMarking | None:
    """The wheel's marking under a question's name, if it was answered."""
    return parse_wheel(answers[name]) if answers.get(name) else None


def _agreeing_tyre(mark: TyreMarking, which: str, answers: Answers) -> str:
    wheel = wheel_of(answers, "new-wheel") if which == "new" else None
    if wheel is not None and wheel.rim_code != mark.rim_code:
        raise AnswerRefused(
            f"{mark} goes on a rim of {mark.rim_code:g}, and the wheel that you named is "
            f"{wheel}: look at both again"
        )
    return str(mark)


def _agreeing_wheel(mark: WheelMarking, which: str, answers: Answers) -> str:
    tyre = tyre_of(answers, "tyre") if which == "now" else None
    if tyre is not None and mark.rim_code != tyre.rim_code:
        raise AnswerRefused(
            f"{mark} is a wheel of {mark.rim_code}, and the tyre on it says {tyre}: read one of "
            "the two once more"
        )
    return str(mark)
