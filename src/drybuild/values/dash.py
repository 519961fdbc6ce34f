"""Dash sizes (AN, JIC): a name of a fitting, not a bore.

The dash number counts sixteenths of an inch of the *tube's outside diameter* (SAE AS4395 and
SAE J514 flared fittings). What a hose of that dash leaves for the fluid depends on the hose.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

from drybuild.values.errors import DashSizeFault

_DASH = re.compile(
    r"^(?:[-#]?\s*(\d{1,2})\s*(?:AN|an|JIC|jic)|(?:AN|an|JIC|jic|D|dash|Dash)\s*-?\s*(\d{1,2}))"
    r"(?:\s+(?:hose|tube|line|fitting))?$"
)
INCH = 0.0254

# SAE J517 100R5 and 100R14 hose, inside diameter by dash, inches. From memory.
_R5 = {3: "1/8", 4: "3/16", 5: "1/4", 6: "5/16", 8: "13/32", 10: "1/2", 12: "5/8", 16: "7/8"}
# Rubber-lined braided fuel hose as the trade sells it, inches. Common practice, from memory.
_BRAID = {4: "0.22", 6: "0.34", 8: "0.44", 10: "0.56", 12: "0.69", 16: "0.88"}


def is_dash_size(text: str) -> bool:
    """True for ``-6 AN``, ``AN6``, ``AN-6 hose``, ``dash 6``."""
    return _DASH.match(text.strip()) is not None


def dash_number(text: str) -> int:
    """The number of a dash size."""
    match = _DASH.match(text.strip())
    if match is None:
        raise ValueError(f"{text!r} is not a dash size")
    return int(match[1] or match[2])


def dash_bores(size: int) -> Mapping[str, float]:
    """Inside diameters (m) that pass under one dash number, by what carries the fluid.

    Source: SAE J514 (tube outside diameter = number/16 inch, exact by definition); SAE J517 for
    100R5/100R14 hose; trade figures for rubber-lined braided hose; the two last from memory, so
    look the bore up in the hose maker's table.
    """
    if not 2 <= size <= 32:
        raise ValueError("dash sizes run from 2 to 32")
    outside = size / 16.0
    bores = {
        "tube of 0.035 in wall": (outside - 2 * 0.035) * INCH,
        "100R1 or 100R2 hose": outside * INCH,
    }
    if size in _R5:
        bores["100R5 or PTFE (100R14) hose"] = float(Fraction(_R5[size])) * INCH
    if size in _BRAID:
        bores["rubber-lined braided hose"] = float(_BRAID[size]) * INCH
    return bores


def dash_fault(text: str, expected: str) -> DashSizeFault:
    """The error for a dash size where a length is wanted; it lists the bores."""
    size = dash_number(text)
    hint = f"A dash size is not a bore: -{size} names a tube of {size}/16 in outside diameter."
    if 2 <= size <= 32:
        rows = "; ".join(f"{name} about {bore * 1000:.1f} mm"
                         for name, bore in dash_bores(size).items())
        hint += f" The bore depends on the hose: {rows}. Give the bore itself in mm or in."
    return DashSizeFault(f"the dash size {text.strip()!r}", expected, hint)
