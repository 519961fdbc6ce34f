"""The exhaust behind the engine: gas flow, temperature after the turbine, back pressure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from drybuild.values import Array

R_EXHAUST = 289.6
"""Gas constant of burned petrol, J/(kg K): equilibrium products of isooctane, lambda 1."""
CP_EXHAUST = 1310.0
"""Specific heat of burned petrol at about 900 °C, J/(kg K), same composition."""


@dataclass(frozen=True)
class Piece:
    """One length of exhaust with a measured point.

    loss Pa at gas flow kg/s, with pressure Pa absolute behind it and gas temperature K then.
    cold: the gas in it is taken as at its measured temperature (a silencer far back), not as hot
    as behind the turbine.
    """

    loss: Array
    flow: Array
    pressure: Array
    temperature: Array
    cold: bool = False


@dataclass(frozen=True)
class ExhaustState:
    """Full load along engine speed (K,) rad/s; the rest (K, N), SI.

    back_pressure: over the barometer, behind turbine or manifold; shares: by piece, same order.
    """

    engine_speed: npt.NDArray[np.float64]
    flow: Array
    temperature_before_turbine: Array
    temperature_after_turbine: Array
    back_pressure: Array
    pieces: tuple[str, ...]
    shares: tuple[Array, ...]


def exhaust_flow(*, air_flow: Array, fuel_flow: Array) -> Array:
    """Exhaust gas (kg/s): all that went in. Source: conservation of mass."""
    return air_flow + fuel_flow


def gas_density(*, pressure: Array, temperature: Array) -> Array:
    """Density of exhaust gas (kg/m3). Pa absolute, K. Any shape. Source: ideal gas."""
    return pressure / (R_EXHAUST * temperature)


def piece_loss(
    *,
    loss: Array,
    at_flow: Array,
    at_pressure: Array,
    at_temperature: Array,
    flow: Array,
    pressure: Array,
    temperature: Array,
) -> Array:
    """Loss (Pa) of a length of exhaust at another gas flow, pressure behind it and temperature.

    Δp = Δp₀·(ṁ/ṁ₀)²·(T/T₀)·(p₀/p). kg/s, Pa absolute, K. Any shape. Within about two times of the
    measured flow either way; a catalyst at low flow loses less than this says.
    Source: Darcy–Weisbach with the density of an ideal gas.
    """
    ratio = flow / at_flow
    return loss * ratio * ratio * (temperature / at_temperature) * (at_pressure / pressure)


def back_pressure(
    *, pieces: Sequence[Piece], flow: Array, temperature: Array, barometer: Array
) -> tuple[Array, tuple[Array, ...]]:
    """Pressure over the barometer in front of all pieces (Pa), and each piece's own loss.

    pieces: from the tail forward. Each adds its loss at the pressure behind it.
    Source: ``piece_loss`` along the line.
    """
    behind = barometer
    losses: list[Array] = []
    for piece in pieces:
        lost = piece_loss(
            loss=piece.loss, at_flow=piece.flow, at_pressure=piece.pressure,
            at_temperature=piece.temperature, flow=flow, pressure=behind,
            temperature=piece.temperature if piece.cold else temperature,
        )  # fmt: skip
        losses.append(lost)
        behind = behind + lost
    return behind - barometer, tuple(losses)
