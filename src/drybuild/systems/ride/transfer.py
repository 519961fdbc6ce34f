"""Load transfer in steady cornering, taken apart: springs, bar, roll centre, unsprung mass."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybuild.systems.ride import roll
from drybuild.values import Array


@dataclass(frozen=True)
class TransferParts:
    """Load moved across one axle per lateral acceleration, N per m/s² = kg, by what moves it.

    springs and bar carry the roll moment of the body, the tyres' give included; roll_centre is
    what the sprung mass puts through the links at once; unsprung is that of the wheels.
    """

    springs: Array
    bar: Array
    roll_centre: Array
    unsprung: Array

    @property
    def total(self) -> Array:
        """All of it."""
        return self.springs + self.bar + self.roll_centre + self.unsprung

    @property
    def named(self) -> tuple[tuple[str, Array], ...]:
        """The parts with their words, in the order in which they are drawn."""
        return (
            ("springs", self.springs),
            ("bar", self.bar),
            ("roll centre", self.roll_centre),
            ("wheels and hubs", self.unsprung),
        )


def transfer_parts(
    *,
    gradient: Array,
    axle_stiffness: Array,
    springs: Array,
    bar: Array,
    axle_sprung_mass: Array,
    roll_centre_height: Array,
    axle_unsprung_mass: Array,
    unsprung_height: Array,
    track_width: Array,
) -> TransferParts:
    """Load moved across one axle by its four parts, N per m/s².

    gradient rad/(m/s²) of the body; axle_stiffness N·m/rad from body to ground with the tyres in
    series; springs, bar N·m/rad of the suspension alone: they share the roll moment as they are
    stiff; masses kg of both sides; heights, track_width m. The sum is `roll.axle_load_transfer`.
    Over both axles, moments add to m·a·h and what the leaning body adds: m_s·g·d·φ.
    Steady, small angles; jacking, tyre give sideways and air are left out.
    Source: Milliken and Milliken, Race Car Vehicle Dynamics, ch. 18 (from memory);
    Gillespie, ch. 6.
    """
    moment = gradient * axle_stiffness
    suspension = np.asarray(springs + bar, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(suspension > 0.0, springs / suspension, 0.0)
    return TransferParts(
        springs=moment * share / track_width,
        bar=moment * (1.0 - share) / track_width,
        roll_centre=axle_sprung_mass * roll_centre_height / track_width,
        unsprung=axle_unsprung_mass * unsprung_height / track_width,
    )


def lean_moment(
    *, gradient: Array, sprung_mass: Array, arm: Array, gravity: float = roll.GRAVITY
) -> Array:
    """Moment that the leaning body adds to m·a·h, N·m per m/s²: m_s·g·d·φ/a.

    gradient rad/(m/s²), sprung_mass kg, arm m above the roll axis. Source: statics of the
    leaning body; the term in Barton and Fieldhouse (2018), eq. 3.18.
    """
    return sprung_mass * gravity * arm * gradient


def inner_wheel_load(
    *, axle_load: Array, transfer: Array, acceleration: Array
) -> Array:
    """Load left on the inner wheel of an axle in steady cornering, N; below 0 it has lifted.

    axle_load N of both wheels at rest, transfer N per m/s², acceleration m/s². Source: statics.
    """
    return 0.5 * axle_load - transfer * acceleration


def share_change(*, front_share: Array, front_share_found: Array) -> Array:
    """How far the front's share of the load transfer moved against as found, −1..1.

    More of it at the front pushes towards understeer, less towards oversteer, all else equal:
    the axle that moves more load loses more grip. A comparison of before and after only; it says
    nothing of how the car balances. Tyres, camber and toe that changed too are not in it.
    Source: tyre load sensitivity, as in Milliken and Milliken, ch. 18 (from memory).
    """
    return front_share - np.asarray(front_share_found)
