"""Ways of measuring, and the doubt that each brings.

Two 95 % half-widths a row: ``bias``, which every reading with one instrument shares, and
``repeat``, which each reading has anew. A ratio or a fraction is worked out from two readings with
the tool. All rows are common practice (careful hand work with a sound tool), not taken from a
standard; a stated ``±`` always wins. Percentages are of the reading.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from drybuild.values.value import HowKnown


@dataclass(frozen=True, slots=True)
class Method:
    """One way of measuring: how known, and (bias, repeat) by family of quantity."""

    how: HowKnown
    doubts: Mapping[str, tuple[str, str]]
    """Kind or family -> (bias, repeat). Empty: any kind, with the doubt the field states."""


_LEN = ("length", "positive_length", "rim_width")


def _measured(**doubts: tuple[str, str]) -> Method:
    rows: dict[str, tuple[str, str]] = {}
    for name, doubt in doubts.items():
        for kind in _GROUPS.get(name, (name,)):
            rows[kind] = doubt
    return Method(HowKnown.MEASURED, MappingProxyType(rows))


_GROUPS = {
    "length": _LEN,
    "pressure": ("pressure_gauge", "pressure_difference"),
    "pressures": ("pressure_gauge", "pressure_difference", "pressure_absolute"),
}

_SOUND = _measured(sound_level=("1.5 dB(A)", "1 dB(A)"))

METHODS: Mapping[str, Method] = MappingProxyType({
    # rule and hand
    "tape": _measured(length=("0.5 mm", "1.5 mm"), distance=("0.5 %", "0.5 %"),
                      ratio=("1 %", "2 %"), fraction=("0.02", "0.03")),
    "rule": _measured(length=("0.3 mm", "0.7 mm"), ratio=("1 %", "2 %")),
    "straightedge": _measured(length=("0.5 mm", "1 mm")),
    "vernier": _measured(length=("0.05 mm", "0.1 mm")),
    "depth gauge": _measured(length=("0.1 mm", "0.2 mm")),
    "micrometer": _measured(length=("0.005 mm", "0.01 mm")),
    "dial gauge": _measured(length=("0.02 mm", "0.03 mm")),
    "drill shank": _measured(length=("0.05 mm", "0.5 mm")),
    "feeler gauge": _measured(length=("0.02 mm", "0.05 mm")),
    "coins": _measured(length=("0.1 mm", "0.8 mm")),
    "putty": _measured(length=("0.2 mm", "0.5 mm")),
    "string": _measured(length=("0.5 mm", "1 mm"), angle=("0.05 deg", "0.1 deg")),
    "plumb line": _measured(length=("0.5 mm", "1.5 mm")),
    "eye": Method(HowKnown.ASSUMED, MappingProxyType(
        {**dict.fromkeys(_LEN, ("5 mm", "10 mm")), "angle": ("1 deg", "2 deg"),
         "speed": ("1 %", "2 %"), "fraction": ("0.05", "0.1")})),
    # angles
    "camber gauge": _measured(angle=("0.1 deg", "0.15 deg")),
    "angle gauge": _measured(angle=("0.1 deg", "0.1 deg")),
    "protractor": _measured(angle=("0.3 deg", "0.5 deg")),
    "wall": _measured(angle=("0.02 deg", "0.05 deg")),  # beam or laser on a wall at 10 m
    "alignment rig": _measured(angle=("0.05 deg", "0.07 deg"), length=("0.3 mm", "0.5 mm")),
    # weight, force, time
    "scales": _measured(mass=("0.5 %", "0.5 %"), force=("0.5 %", "0.5 %")),
    "corner scales": _measured(mass=("0.5 %", "1 %"), force=("0.5 %", "1 %")),
    "weighbridge": _measured(mass=("10 kg", "10 kg"), force=("100 N", "100 N")),
    "bathroom scales": _measured(mass=("1 %", "1 %"), force=("1 %", "1 %")),
    "spring tester": _measured(spring_rate=("1 %", "2 %"), force=("1 %", "1 %")),
    "torque wrench": _measured(torque=("4 %", "2 %")),
    "stopwatch": _measured(time=("0.05 s", "0.2 s")),
    "count": Method(HowKnown.MEASURED, MappingProxyType(
        {"number": ("0", "0"), "match": ("0", "0"), "ratio": ("0", "0")})),
    # electrics
    "multimeter": _measured(voltage=("0.5 %", "0.2 %"), current=("1 %", "0.5 %"),
                            resistance=("1 %", "1 %"), frequency=("0.1 %", "0.1 %"),
                            temperature=("2 °C", "1 °C")),
    "clamp meter": _measured(current=("2 %", "1 %")),
    "oscilloscope": _measured(time=("0.1 %", "0.02 ms"), voltage=("2 %", "1 %"),
                              frequency=("0.1 %", "0.1 %")),
    "battery tester": _measured(voltage=("0.5 %", "0.2 %"), charge=("5 %", "5 %")),
    # pressure, flow, temperature
    "pressure gauge": _measured(pressure=("2 %", "1 %")),
    "tyre gauge": _measured(pressure=("2 %", "1 %")),
    "manometer": _measured(pressure=("0.5 %", "1 %")),
    "barometer": _measured(pressure_absolute=("0.3 %", "0.1 %")),
    "flow bench": _measured(flow_volume=("1 %", "1 %"), flow_mass=("1 %", "1 %"),
                            time=("0.5 %", "0.02 ms")),
    "measuring jug": _measured(volume=("1 %", "1 %"), flow_volume=("1 %", "2 %")),
    "fuel test kit": _measured(fraction=("0.02", "0.02")),
    "hydrometer": _measured(density=("0.2 %", "0.1 %")),
    "thermometer": _measured(temperature=("1 °C", "0.5 °C"),
                             temperature_difference=("0.5 °C", "0.5 °C"),
                             fraction=("0.02", "0.03")),
    "infrared thermometer": _measured(temperature=("3 °C", "2 °C"), fraction=("0.03", "0.05"),
                                      conductance=("10 %", "10 %")),
    # on the road and on the rollers
    "scan": _measured(pressures=("2 %", "1 %"), rotation_speed=("0.3 %", "0.3 %"),
                      speed=("3 %", "1 %"), temperature=("2 °C", "1 °C"),
                      voltage=("0.1 V", "0.1 V"), flow_mass=("3 %", "1 %"),
                      fraction=("0.01", "0.01"), angle=("0.5 deg", "0.5 deg"),
                      time=("1 %", "0.02 ms"), **{"lambda": ("1 %", "1 %")}),
    "wideband": _measured(**{"lambda": ("1 %", "1 %")}),
    "satellite speed": _measured(speed=("0.2 %", "0.5 %"), distance=("0.2 %", "0.2 %")),
    "odometer": _measured(distance=("4 %", "0.1 %")),
    "dash": _measured(distance=("0", "1 km")),  # what its counter shows, however far it was driven
    "dyno": _measured(power=("3 %", "1.5 %"), torque=("3 %", "1.5 %"),
                      rotation_speed=("0.3 %", "0.3 %")),
    "sound meter": _SOUND, "sound level meter": _SOUND,
    # not measured: the doubt is the field's own
    "maker": Method(HowKnown.MAKER, MappingProxyType({})),
    "document": Method(HowKnown.MAKER, MappingProxyType({})),
    "catalogue": Method(HowKnown.CATALOGUE, MappingProxyType({})),
    "assumed": Method(HowKnown.ASSUMED, MappingProxyType({})),
})


ALSO_CALLED: Mapping[str, str] = MappingProxyType({
    "caliper": "vernier", "calipers": "vernier", "calliper": "vernier", "callipers": "vernier",
    "drill": "drill shank", "drill bit": "drill shank", "ruler": "rule", "steel rule": "rule",
    "shims": "coins", "clay": "putty", "modelling clay": "putty", "dial indicator": "dial gauge",
    "stamp": "maker", "stamped": "maker", "marking": "maker",
    "sidewall": "maker", "label": "maker", "box": "maker", "data sheet": "maker",
})
"""What people call a way of measuring -> its name here. A number stamped on it is its maker's."""


def methods_for(kind: str) -> tuple[str, ...]:
    """The ways of measuring that suit a kind, those that only say how known included."""
    return tuple(name for name, method in METHODS.items()
                 if not method.doubts or kind in method.doubts)


def method_named(text: str, kind: str) -> str | None:
    """The way of measuring that a text names for that kind; None when it names none that suits.

    A text may name it among other things: ``jack and tape`` is a tape. When it names several
    that suit, the coarsest counts (by rank in the order of their usual doubt for that kind).
    """
    text = ALSO_CALLED.get(text.lower().strip(), text)
    if text in METHODS:
        return text if not METHODS[text].doubts or kind in METHODS[text].doubts else None
    words = text.lower()
    found = [name for name in METHODS
             if re.search(rf"\b{re.escape(name.removesuffix('s'))}s?\b", words)]
    # "infrared thermometer" names a thermometer too: the longer name is meant
    found = [name for name in found
             if not any(name != other and name in other for other in found)]
    suits = [name for name in found if METHODS[name].doubts and kind in METHODS[name].doubts]
    if not suits:
        return None
    return max(suits, key=lambda name: _coarse(METHODS[name].doubts[kind]))


def _coarse(doubt: tuple[str, str]) -> tuple[bool, float]:
    """For ranking only: rows of one kind are written in one unit, or in per cent."""
    sizes = [float(part.split()[0].rstrip("%")) for part in doubt]
    return doubt[1].endswith("%"), math.hypot(*sizes)
