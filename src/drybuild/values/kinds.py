"""The kinds of quantity: what a number in a build may be a number of.

A kind fixes the SI unit inside, the units that are shown, hard bounds, and the doubt that a
bare number gets when neither the writer nor the field states one. Conversion factors are not
kept here; they come from the units library at the edge (``units.py``).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

Shown = tuple[tuple[str, float], ...]
"""Units to show, each with the SI size from which it is used; the first starts at 0."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of quantity."""

    name: str
    what: str
    """In plain words, for messages."""
    si: str
    """The SI unit inside, as it is printed."""
    family: str
    """Which table of unit spellings it reads (see ``units.FAMILIES``)."""
    metric: Shown
    us: Shown
    example: str
    """A text that reads well as this kind."""
    low: float | None = None
    """Hard lower bound in SI: no draw lies below it. None: none."""
    high: float | None = None
    """Hard upper bound in SI."""
    doubt: str = "5 %"
    """95 % half-width of a catalogue number when nobody states one (common practice)."""
    dimensionless: bool = False
    """Bare numbers of the file format are read."""
    places: int | None = None
    """Decimals beyond which nobody in the trade speaks of it. None: the doubt alone decides."""

    @property
    def nonnegative(self) -> bool:
        """True when the quantity cannot be negative."""
        return self.low is not None and self.low >= 0.0


def _one(label: str) -> Shown:
    return ((label, 0.0),)


_LIST = (
    # lengths are signed: an offset, a gap and a position may be negative
    Kind("length", "a length", "m", "length", (("mm", 0.0), ("m", 10.0)),
         (("in", 0.0), ("ft", 10.0)), "62 ± 2 mm", doubt="1 mm"),
    Kind("positive_length", "a length that cannot be negative", "m", "length",
         (("mm", 0.0), ("m", 10.0)), (("in", 0.0), ("ft", 10.0)), "62 ± 2 mm", low=0.0,
         doubt="2 %"),
    Kind("rim_width", "a rim width", "m", "length", _one("in"), _one("in"), "8.5 in",
         doubt="1 mm", places=1),  # in inches wherever cars are spoken of; an offset is in mm
    Kind("distance", "a distance driven", "m", "length", _one("km"), _one("mi"), "120000 km",
         low=0.0, doubt="5 %"),
    Kind("area", "an area", "m2", "area", (("mm2", 0.0), ("cm2", 1e-4)), _one("in2"), "12 cm2",
         low=0.0),
    Kind("volume", "a volume", "m3", "volume", (("cc", 0.0), ("L", 1e-3)),
         (("in3", 0.0), ("US gal", 2e-2)), "1.8 L", low=0.0, doubt="2 %"),
    Kind("mass", "a mass", "kg", "mass", (("g", 0.0), ("kg", 0.1)), (("oz", 0.0), ("lb", 0.2)),
         "8.6 kg", low=0.0),
    Kind("line_density", "a mass per length", "kg/m", "line_density", _one("g/m"), _one("lb/ft"),
         "180 g/m", low=0.0),
    Kind("time", "a time", "s", "time", (("ms", 0.0), ("s", 0.1), ("min", 300.0), ("h", 7200.0),
                                         ("years", 3e7)),
         (("ms", 0.0), ("s", 0.1), ("min", 300.0), ("h", 7200.0), ("years", 3e7)),
         "1.1 ms", low=0.0),
    Kind("temperature", "a temperature", "K", "temperature", _one("°C"), _one("°F"), "25 °C",
         low=0.0, doubt="5 °C"),
    Kind("temperature_difference", "a temperature difference", "K", "temperature_difference",
         _one("°C"), _one("°F"), "40 °C", doubt="10 %"),
    Kind("force", "a force", "N", "force", (("N", 0.0), ("kN", 1e4)), _one("lbf"), "3.2 kN"),
    Kind("torque", "a torque", "N·m", "torque", _one("N·m"), _one("lbf·ft"), "240 N·m"),
    Kind("energy", "an energy", "J", "energy", (("J", 0.0), ("kJ", 1e4), ("MJ", 1e7)),
         (("ft·lbf", 0.0), ("BTU", 1e5)), "12 kJ"),
    Kind("power", "a power", "W", "power", (("W", 0.0), ("kW", 1e3)), (("W", 0.0), ("hp", 1e3)),
         "132 kW"),
    Kind("pressure_absolute", "an absolute pressure", "Pa", "pressure", _one("bar absolute"),
         _one("psi absolute"), "92.2 kPa absolute", low=0.0, doubt="2 %"),
    Kind("pressure_gauge", "a gauge pressure", "Pa", "pressure", _one("bar gauge"),
         _one("psi gauge"), "1.3 bar gauge", doubt="3 %"),
    Kind("pressure_difference", "a pressure difference", "Pa", "pressure", _one("bar"),
         _one("psi"), "3 bar"),
    Kind("stress", "a stress", "Pa", "stress", _one("MPa"), _one("ksi"), "640 MPa", low=0.0),
    Kind("flow_volume", "a volume flow", "m3/s", "flow_volume", (("cc/min", 0.0), ("L/h", 4e-5)),
         (("cc/min", 0.0), ("US gal/h", 4e-5)), "520 L/h", low=0.0),
    Kind("flow_mass", "a mass flow", "kg/s", "flow_mass", (("g/min", 0.0), ("g/s", 1e-3)),
         (("lb/h", 0.0), ("lb/min", 2e-2)), "150 g/s", low=0.0),
    Kind("density", "a density", "kg/m3", "density", _one("kg/m3"), _one("lb/ft3"), "745 kg/m3",
         low=0.0, doubt="1 %"),
    Kind("spring_rate", "a spring rate", "N/m", "spring_rate", _one("N/mm"), _one("lb/in"),
         "42 N/mm", low=0.0),
    Kind("damping", "a damping coefficient", "N·s/m", "damping", _one("N·s/m"), _one("lbf·s/in"),
         "1800 N·s/m", low=0.0, doubt="15 %"),
    Kind("roll_stiffness", "a roll stiffness", "N·m/rad", "roll_stiffness", _one("N·m/deg"),
         _one("lbf·ft/deg"), "420 N·m/deg", low=0.0, doubt="10 %"),
    Kind("roll_gradient", "a roll gradient", "rad/(m/s2)", "roll_gradient", _one("deg/g"),
         _one("deg/g"), "3.2 deg/g", doubt="10 %"),
    Kind("angle", "an angle", "rad", "angle", _one("deg"), _one("deg"), "-0.5 ± 0.2 deg",
         doubt="0.25 deg", places=2),
    Kind("angle_per_length", "an angle per length", "rad/m", "angle_per_length", _one("deg/mm"),
         _one("deg/in"), "0.02 deg/mm", doubt="20 %"),
    Kind("per_length", "a number per length", "1/m", "per_length", _one("1/m"), _one("1/in"),
         "0.5 1/m", doubt="10 %"),
    Kind("speed", "a speed", "m/s", "speed", _one("km/h"), _one("mph"), "100 km/h", low=0.0,
         doubt="3 %"),
    Kind("acceleration", "an acceleration", "m/s2", "acceleration", _one("g"), _one("g"), "0.9 g"),
    Kind("rotation_speed", "a rotation speed", "rad/s", "rotation_speed", _one("rpm"),
         _one("rpm"), "6800 rpm", low=0.0, doubt="2 %"),
    Kind("frequency", "a frequency", "Hz", "frequency", _one("Hz"), _one("Hz"), "1.6 Hz", low=0.0),
    Kind("voltage", "a voltage", "V", "voltage", _one("V"), _one("V"), "13.8 V", doubt="0.3 V"),
    Kind("current", "a current", "A", "current", _one("A"), _one("A"), "14 A"),
    Kind("charge", "a battery capacity", "C", "charge", _one("A·h"), _one("A·h"), "60 A·h",
         low=0.0, doubt="10 %"),
    Kind("resistance", "a resistance", "ohm", "resistance", (("mohm", 0.0), ("ohm", 1.0)),
         (("mohm", 0.0), ("ohm", 1.0)), "30 mohm", low=0.0, doubt="10 %"),
    Kind("resistance_per_length", "a resistance per length", "ohm/m", "resistance_per_length",
         _one("mohm/m"), _one("mohm/ft"), "5.09 mohm/m", low=0.0),
    Kind("conductance", "a heat conductance", "W/K", "conductance", _one("W/K"), _one("W/K"),
         "800 W/K", low=0.0, doubt="15 %"),
    Kind("heat_capacity", "a specific heat capacity", "J/(kg·K)", "heat_capacity",
         _one("J/(kg·K)"), _one("BTU/(lb·°F)"), "460 J/(kg·K)", low=0.0),
    Kind("viscosity", "a dynamic viscosity", "Pa·s", "viscosity", _one("mPa·s"), _one("mPa·s"),
         "0.6 mPa·s", low=0.0, doubt="10 %"),
    Kind("inertia", "a moment of inertia", "kg·m2", "inertia", _one("kg·m2"), _one("lb·ft2"),
         "0.9 kg·m2", low=0.0, doubt="10 %"),
    Kind("specific_fuel", "a fuel mass per energy", "kg/J", "specific_fuel", _one("g/kWh"),
         _one("lb/hp·h"), "290 g/kWh", low=0.0),
    Kind("heating_value", "a heating value", "J/kg", "heating_value", _one("MJ/kg"),
         _one("BTU/lb"), "42.7 MJ/kg", low=0.0, doubt="1 %"),
    Kind("fuel_use", "a fuel use", "m3/m", "fuel_use", _one("L/100 km"), _one("mpg US"),
         "8.5 L/100 km", low=0.0, doubt="10 %"),
    Kind("sound_level", "a sound level", "dB(A)", "sound_level", _one("dB(A)"), _one("dB(A)"),
         "92 dB(A)", doubt="2 dB(A)"),
    Kind("ratio", "a ratio", "1", "ratio", _one(""), _one(""), "0.95", low=0.0, dimensionless=True),
    Kind("fraction", "a fraction from 0 to 1", "1", "ratio", _one("%"), _one("%"), "85 %",
         low=0.0, high=1.0, dimensionless=True),
    Kind("lambda", "a lambda", "1", "lambda", _one("lambda"), _one("lambda"), "0.85 lambda",
         low=0.0, doubt="2 %", dimensionless=True),
    Kind("number", "a plain number", "1", "number", _one(""), _one(""), "4", doubt="0",
         dimensionless=True),
    Kind("match", "yes or no", "1", "number", _one(""), _one(""), "true", doubt="0",
         dimensionless=True),
    Kind("money", "an amount of money", "1", "money", _one(""), _one(""), "120 EUR", low=0.0,
         doubt="0", dimensionless=True),
)

KINDS: Mapping[str, Kind] = MappingProxyType({kind.name: kind for kind in _LIST})


def kind_named(name: str) -> Kind:
    """The kind of that name; a KeyError that lists them otherwise."""
    try:
        return KINDS[name]
    except KeyError:
        raise KeyError(f"no kind {name!r}; kinds are {', '.join(sorted(KINDS))}") from None
