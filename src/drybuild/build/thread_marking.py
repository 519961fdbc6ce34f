"""Reads a thread's designation: ``M12x1.5``, ``1/2-20``."""

from __future__ import annotations

import re
from functools import cache
from typing import Annotated, Final, NamedTuple

from pydantic import AfterValidator

MM: Final = 1e-3
INCH: Final = 0.0254


class Thread(NamedTuple):
    """A thread's nominal diameter and pitch, both m."""

    diameter: float
    pitch: float


_METRIC = re.compile(r"^M\s*(\d+(?:\.\d+)?)\s*[xX×]\s*(\d+(?:\.\d+)?)$")
_INCH = re.compile(r"^(\d+)\s*/\s*(\d+)\s*-\s*(\d+)(?:\s*UNF|\s*UNC)?$", re.IGNORECASE)


@cache
def parse_thread(text: str) -> Thread:
    """Read ``M12x1.5`` or ``1/2-20``. Errors: ValueError that shows the two forms.

    Pitch is asked for always: M12 alone may be 1.25, 1.5 or 1.75. Source: ISO 261, ASME B1.1.
    """
    stripped = text.strip()
    metric = _METRIC.match(stripped)
    if metric is not None:
        diameter, pitch = float(metric[1]), float(metric[2])
        if not 0.0 < pitch < diameter / 3.0:
            raise ValueError(f"thread {text!r}: pitch {pitch:g} mm does not go with M{diameter:g}")
        return Thread(diameter * MM, pitch * MM)
    inch = _INCH.match(stripped)
    if inch is not None and int(inch[2]) > 0 and int(inch[3]) > 0:
        return Thread(int(inch[1]) / int(inch[2]) * INCH, INCH / int(inch[3]))
    raise ValueError(f"thread {text!r}: write diameter and pitch, such as M12x1.5 or 1/2-20")


def _checked(text: str) -> str:
    parse_thread(text)
    return text


ThreadMark = Annotated[str, AfterValidator(_checked)]
"""A fact's text that must be a readable thread with its pitch."""
