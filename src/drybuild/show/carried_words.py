"""Whether a turbocharger carries the power that is aimed at, in sentences."""

from __future__ import annotations

import numpy as np

from drybuild.examine import Examination
from drybuild.examine.carried import Carried, aim_said, carried
from drybuild.show.engine_words import said_of
from drybuild.show.sentences import joint_text
from drybuild.values import System, show_number

PLACE = "turbo"
DECIDED = "what boost may be is the calibrator's to decide, on the dyno"


def carried_lines(
    examinations: dict[str, Examination], system: System = "metric"
) -> tuple[str, ...]:
    """Of each car in turn; nothing where nobody aims at a power. examinations: by the name of the
    turbocharger, the one that is tried first."""
    found = {name: carried(e) for name, e in examinations.items()}
    lines = []
    if first := next(iter(next(iter(found.values()), ())), None):
        state = next(iter(examinations.values())).state
        lines += [] if aim_said(state) else [_nobody_said(first, system)]
    for number, first in enumerate(next(iter(found.values()), ())):
        lines.append(_takes(first, system))
        lines += [_gives(name, all_of[number], system)
                  for name, all_of in found.items() if number < len(all_of)]  # fmt: skip
        lines.append(f"As planned it is {_power(first, system)} with {first.blend}; {DECIDED}")
    return tuple(lines)


def _nobody_said(one: Carried, system: System) -> str:
    return (
        f"nobody has said which power is aimed at: {show_number('power', one.wanted, system)}, a "
        "little less than standard, stands in its place, and what is said here holds for that alone"
    )


def _takes(one: Carried, system: System) -> str:
    ratio = float(np.nanmedian(one.ratio))
    return (
        f"{show_number('power', one.wanted, system)} with {one.blend} takes "
        f"{said_of(one.flow, 'flow_mass', system)}, at a pressure ratio of about {ratio:.1f}, "
        "reckoned up from full throttle as planned; that the charge gets hotter is not in it"
    )


def _gives(name: str, one: Carried, system: System) -> str:
    guess = "; the map is a guess, the maker's own says it better" if one.guessed else ""
    return (
        f"{name}: its largest flow is {said_of(one.largest, 'flow_mass', system)}, "
        f"enough {joint_text(one.enough)}; that flow at that ratio within its map "
        f"{joint_text(one.on_map)}{guess}"
    )


def _power(one: Carried, system: System) -> str:
    return said_of(one.planned, "power", system)
