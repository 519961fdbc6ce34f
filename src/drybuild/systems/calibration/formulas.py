"""What a map believes against what is fitted: the arithmetic of each comparison.

Plain functions in SI units; arguments broadcast. None of them says what a map should ask for.
"""

from __future__ import annotations

import numpy as np

from drybuild.values import Array


def flow_at_pressure(*, flow: Array, rated_pressure: Array, pressure: Array) -> Array:
    """Flow of an injector at another pressure difference: Q √(p / p rated), unit as given.

    flow: at rated_pressure. rated_pressure, pressure: difference across the injector, Pa.
    Same liquid. Both above zero.
    Source: orifice equation (Bernoulli).
    """
    return flow * np.sqrt(np.asarray(pressure) / rated_pressure)


def mismatch(*, fitted: Array, expected: Array) -> Array:
    """How far the fitted part is from what the map expects, as a share of the latter, + greater.

    Same unit for both; expected not zero. Source: definition.
    """
    return np.asarray(fitted) / expected - 1


def within(*, difference: Array, allowed: Array) -> Array:
    """Slack of a difference inside ± allowed, unit of both: allowed - |difference|.

    Source: definition.
    """
    return allowed - np.abs(difference)


def inside(*, value: Array, low: Array, high: Array) -> Array:
    """Slack of a value inside a range, unit of value: to the nearer end, negative outside.

    Source: definition.
    """
    return np.minimum(np.asarray(value) - low, np.asarray(high) - value)


def lambda_by_flow(*, fitted_flow: Array, expected_flow: Array) -> Array:
    """Lambda that comes out where the map aims at 1, without trims, 1: expected over fitted flow.

    Flows at one pressure and in one liquid. Dead time is left out.
    Source: definition of lambda; fuel delivered is flow times the time that the map commands.
    """
    return np.asarray(expected_flow) / fitted_flow


def lambda_by_fuel(*, stoich_expected: Array, stoich_fitted: Array) -> Array:
    """Lambda where the map aims at 1 for one fuel and another is in the tank, without trims, 1.

    stoich_expected, stoich_fitted: stoichiometric air-fuel ratios by mass, kg/kg. Densities are
    taken as equal (ethanol petrol within 6 %).
    Source: definition of lambda.
    """
    return np.asarray(stoich_expected) / stoich_fitted


def housing_error(*, fitted_bore: Array, expected_bore: Array) -> Array:
    """Error of the air flow that the map reckons with an air meter in another housing, share.

    fitted_bore, expected_bore: of the housing at the sensing element, m. The element feels
    mass flow per area; true flow over reckoned flow is the ratio of areas. + means more air than
    reckoned: the engine runs lean.
    Source: continuity; profile and swirl left out.
    """
    return np.square(np.asarray(fitted_bore) / expected_bore) - 1


def short_pulse_error(*, dead_time_error: Array, pulse: Array) -> Array:
    """Share of the fuel that a wrong dead time adds or takes at a pulse, share.

    dead_time_error: expected less fitted, s. pulse: effective opening time, s, above zero.
    Source: SAE J1832: delivered fuel is slope times (pulse width less offset) (from memory).
    """
    return np.asarray(dead_time_error) / pulse
