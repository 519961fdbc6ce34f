"""What the sliders of a corner try: four figures of wheel, tyre and setting, as Changes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybuild.build import Change, State
from drybuild.build.kinds import place_of
from drybuild.build.tyre_marking import parse_marking
from drybuild.examine import Examination
from drybuild.values import with_minus

ANOTHER_WHEEL = (
    "another offset is another wheel: here the spokes stay where they are from the hub face; "
    "ask its maker where its own stand. A spacer moves them out"
)


@dataclass(frozen=True, slots=True)
class Slider:
    """One figure that is tried. low, high, step and at in unit; at: where it stands.

    target: the address that is set; known: whether anybody has said where it stands; note: why it
    is not the figure that one may expect.
    """

    name: str
    words: str
    unit: str
    target: str
    low: float
    high: float
    step: float
    at: float
    known: bool
    note: str = ""

    def change(self, value: float) -> Change:
        """The Change that sets it."""
        return Change("set", self.target, f"{value:g} {self.unit}")

    @property
    def said(self) -> str:
        """Where it stands, as it is read."""
        return with_minus(f"{self.at:g} {self.unit}")


@dataclass(frozen=True, slots=True)
class _Kind:
    name: str
    words: str
    unit: str
    target: str
    read: str
    scale: float
    span: tuple[float, float]
    step: float


def _kinds(axle: str, side: str) -> tuple[_Kind, ...]:
    corner = f"{axle}.{side}"
    degrees = float(np.degrees(1.0))
    return (
        _Kind("offset", "offset of the wheel", "mm", f"wheel.{axle}.offset",
              f"wheel.{corner}.offset", 1e3, (-30, 30), 1),
        _Kind("rim", "rim width", "in", f"wheel.{axle}.rim_width", f"wheel.{corner}.rim_width",
              1 / 0.0254, (-2, 2), 0.5),
        _Kind("tyre", "section width of the tyre", "mm", f"tyre.{axle}.section_width",
              f"tyre.{corner}.section_width", 1e3, (-40, 40), 1),
        _Kind("camber", "camber, − leans in at the top", "deg", f"corner.{axle}.camber_now",
              f"ride.camber_set.{corner}", degrees, (-3, 3), 0.1),
        _Kind("drop", "how far it is lower than as found", "mm", f"corner.{axle}.measured_drop",
              f"ride.ride_height_drop.{corner}", 1e3, (-40, 60), 1),
    )  # fmt: skip


def sliders(examination: Examination, corner: str) -> tuple[Slider, ...]:
    """The sliders of a corner, each where the car stands."""
    axle, _, side = corner.partition(".")
    found = []
    for kind in _kinds(axle, side):
        outcome = examination.evaluation.get(kind.read)
        known = outcome.known and outcome.value is not None
        middle = float(np.nanmedian(outcome.value)) * kind.scale if known else 0.0
        at = round(middle / kind.step) * kind.step
        low, high = at + kind.span[0], at + kind.span[1]
        if kind.name in ("rim", "tyre"):
            low = max(low, kind.step)
        owner = ".".join(kind.target.split(".")[:2])
        there = not owner.startswith(("wheel", "tyre")) or _fitted(examination.state, owner)
        if there and known:
            found.append(
                Slider(kind.name, kind.words, kind.unit, kind.target, low, high, kind.step, at,
                       known, _note(examination, corner, at) if kind.name == "tyre"
                       else ANOTHER_WHEEL if kind.name == "offset" else "")
            )  # fmt: skip
    return tuple(found)


def _note(examination: Examination, corner: str, stated: float) -> str:
    """Why a tyre is wider or narrower than its marking says; empty where it is not."""
    marking = examination.evaluation.get(f"tyre.{corner}.marking")
    rim = examination.evaluation.get(f"tyre.{corner}.section_rim_width")
    if not marking.known or not isinstance(marking.value, str):
        return ""
    nominal = parse_marking(marking.value).section_width_mm
    if round(stated) == nominal:
        return ""
    on = "its measuring rim"
    if rim.known and rim.value is not None:
        on = f"a rim of {float(np.nanmedian(rim.value)) / 0.0254:.3g} in"
    return f"marked {nominal}; over its sidewalls, on {on}, {stated:g} mm is stated"


def changes(shown: tuple[Slider, ...], asked: dict[str, float | None]) -> tuple[Change, ...]:
    """The Changes of those sliders that were moved from where the car stands."""
    made = []
    for slider in shown:
        value = asked.get(slider.name)
        if value is not None and abs(value - slider.at) > slider.step / 100:
            made.append(slider.change(min(max(value, slider.low), slider.high)))
    return tuple(made)


_SPOKEN = {
    "wheel.offset": "{axle} wheels of ET{figure}", "wheel.rim_width": "{axle} wheels {text} wide",
    "tyre.section_width": "{axle} tyres {text} wide", "corner.camber_now": "{axle} camber {text}",
    "corner.measured_drop": "{axle} {text} lower than as found",
}  # fmt: skip


def spoken(made: tuple[Change, ...]) -> str:
    """What the sliders set, in the words of the trade: ``front wheels of ET40``."""
    found = []
    for change in made:
        table, axle, fact = change.target.split(".")
        text = with_minus(str(change.value))
        figure = text.partition(" ")[0]
        found.append(_SPOKEN[f"{table}.{fact}"].format(axle=axle, text=text, figure=figure))
    return ", ".join(found)


def draft_title(typed: str, made: tuple[Change, ...]) -> str:
    """The title of a draft, which becomes that of its job: as typed, but for a bare figure of what
    is set, or nothing: then what is set and where."""
    words = spoken(made)
    return words if typed.replace(" ", "").lower() in words.lower() else typed


def _fitted(state: State, place: str) -> bool:
    return any(
        state.fitted.get(instance) for instance in place_of() if instance.startswith(f"{place}.")
    )
