"""What the law room reads: the registration, guards over the wheels, and equipment it asks for."""

from __future__ import annotations

from datetime import date
from typing import Literal

from drybuild.build.model import Part, Place, Section, fact
from drybuild.build.tyre_marking import TyreMark
from drybuild.values.types import Length, Number, Power, SoundLevel, Speed


class Registration(Section):
    """What the papers and the placard say of the car as the maker delivered it."""

    jurisdiction: str | None = fact(
        "where it is registered, by code: AU, AU-SA, DE, GB …; unset reads every state's rules"
    )
    category: Literal["M1", "M1G", "N1", "N1G"] | None = fact(
        "M1 passenger car, N1 goods vehicle; G: built for off-road use"
    )
    body: Literal["open", "closed"] | None = fact("open car, or with a fixed roof")
    first_registered: date | None = fact("date of first registration, yyyy-mm-dd")
    original_tyres: tuple[TyreMark, ...] | None = fact(
        'every tyre size that the placard names, e.g. "205/50 R16 87V"'
    )
    original_offset_smallest: Length | None = fact(
        "smallest offset among the maker's own wheels for this car", catalogue="1 mm"
    )
    track_maker_max_front: Length | None = fact(
        "greatest front track with the maker's own wheels", catalogue="2 mm"
    )
    track_maker_max_rear: Length | None = fact(
        "greatest rear track with the maker's own wheels", catalogue="2 mm"
    )
    top_speed: Speed | None = fact("top speed by the papers", catalogue="2 %")
    rated_power: Power | None = fact("rated power by the papers", catalogue="1 %")
    seats: Number | None = fact("persons it is registered for, with the driver")
    seats_fitted: Number | None = fact(
        "persons that the fitted seats with belts take, with the driver",
        measure=("count", 1, "count the seats that have a belt"),
    )
    dipped_lamp_height: Length | None = fact(
        "lowest lit edge of the dipped beam above ground, as found",
        catalogue="5 mm",
        measure=("tape", 3, "level floor, unladen: floor to the lower lit edge, both sides"),
        typical="550 to 750 mm",
    )
    noise_at_rest_certified: SoundLevel | None = fact(
        "noise at rest by the papers or the plate", catalogue="1 dB(A)"
    )
    noise_at_rest: SoundLevel | None = fact(
        "noise at rest as the car is, or as expected when finished",
        measure=("sound meter", 20, "0.5 m from the tailpipe, at 45°, thrice"),
        typical="80 to 100 dB(A)",
    )
    pass_by_noise: SoundLevel | None = fact("drive-by noise, if anybody measured it")
    rules_read: tuple[str, ...] | None = fact(
        "recalled rules that the owner has read in the authority's own text and found to say the "
        'same, as "set:rule"'
    )


class LawCorner(Section):
    """The guard over the wheel, as found at ride height."""

    guard_edge: Length | None = fact(
        "hub face outboard to a plumb line from the guard's outer edge, + outboard; the least "
        "value from 30° before to 50° behind the wheel centre",
        catalogue="5 mm",
        measure=("plumb line", 10, "straight ahead: plumb line to hub face"),
        typical="60 to 110 mm",
    )
    guard_rear_edge_height: Length | None = fact(
        "the guard's rear edge above the wheel axis, + above",
        catalogue="5 mm",
        measure=("tape", 3, "level floor: height of the edge less height of the wheel centre"),
        typical="-150 to 100 mm",
    )


class Flaps(Part):
    """Charge-motion flaps of the intake manifold."""

    kind: Literal["flaps"] = "flaps"
    works: bool | None = fact("do they move when the engine asks")


class VapourSystem(Part):
    """Fuel vapour system: canister, purge valve and their hoses."""

    kind: Literal["vapour_system"] = "vapour_system"


class CatchTank(Part):
    """Tank that catches what the crankcase breathes out."""

    kind: Literal["catch_tank"] = "catch_tank"
    returns: bool | None = fact("does it lead back to the intake, closed")


class TowEye(Part):
    """Towing eye."""

    kind: Literal["tow_eye"] = "tow_eye"
    colour: str | None = fact("colour it is painted")


class RolloverBar(Part):
    """Roll-over bar, cage or the maker's hoops."""

    kind: Literal["rollover_bar"] = "rollover_bar"


PLACES = (
    Place("flaps", kind="flaps", per="car", optional=True, title="charge-motion flaps"),
    Place("vapour_system", kind="vapour_system", per="car", optional=True, title="vapour system"),
    Place("catch_tank", kind="catch_tank", per="car", optional=True, title="catch tank"),
    Place("tow_eye", kind="tow_eye", per="axle", optional=True, title="tow eye"),
    Place("rollover_bar", kind="rollover_bar", per="car", optional=True, title="roll-over bar"),
)

SECTIONS = {"registration": Registration, "corner": LawCorner}
