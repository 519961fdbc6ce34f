"""Pressure losses of lines, fittings and filters; suction. Vectorised, SI."""

from __future__ import annotations

import numpy as np

from drybuild.values import Array

GRAVITY = 9.80665
LAMINAR_BELOW, TURBULENT_ABOVE = 2300.0, 4000.0


def flow_speed(*, flow: Array, bore: Array) -> Array:
    """Mean speed in a round bore, m/s. flow m3/s, bore m (the hole, not a dash size)."""
    return flow / (np.pi / 4 * bore**2)


def reynolds(*, flow: Array, bore: Array, density: Array, viscosity: Array) -> Array:
    """Reynolds number of flow (m3/s) in a round bore (m). Source: definition."""
    return density * flow_speed(flow=flow, bore=bore) * bore / viscosity


def friction_haaland(*, reynolds_number: Array, relative_roughness: Array) -> Array:
    """Darcy friction factor, turbulent, explicit; within 2 % of Colebrook.

    Valid Re 4e3..1e8, ε/D 0..0.05. Source: Haaland, J. Fluids Eng. 105 (1983) 89.
    """
    inner = (relative_roughness / 3.7) ** 1.11 + 6.9 / reynolds_number
    return 1 / np.square(1.8 * np.log10(inner))


def friction_colebrook(*, reynolds_number: Array, relative_roughness: Array) -> Array:
    """Darcy friction factor, turbulent, Colebrook's equation, three steps from Haaland's.

    Converged to 1e-6 relative for Re 4e3..1e8, ε/D 0..0.05. Source: Colebrook (1939).
    """
    root = 1 / np.sqrt(
        friction_haaland(reynolds_number=reynolds_number, relative_roughness=relative_roughness)
    )
    for _ in range(3):  # Newton in 1/√f
        inner = relative_roughness / 3.7 + 2.51 * root / reynolds_number
        miss = root + 2 * np.log10(inner)
        slope = 1 + 2 / np.log(10) * 2.51 / reynolds_number / inner
        root = root - miss / slope
    return root**-2.0


def friction_factor(*, reynolds_number: Array, relative_roughness: Array) -> Array:
    """Darcy friction factor over all Reynolds numbers: 64/Re, Haaland, a straight blend between.

    Between 2300 and 4000 the flow may be either; the blend is continuous and errs to neither.
    Source: Hagen–Poiseuille; Haaland (1983); the blend is ours.
    """
    if np.min(reynolds_number) >= TURBULENT_ABOVE:
        return friction_haaland(
            reynolds_number=reynolds_number, relative_roughness=relative_roughness
        )
    number = np.maximum(reynolds_number, 1e-9)
    laminar = 64 / number
    turbulent = friction_haaland(
        reynolds_number=np.maximum(number, LAMINAR_BELOW), relative_roughness=relative_roughness
    )
    share = np.clip((number - LAMINAR_BELOW) / (TURBULENT_ABOVE - LAMINAR_BELOW), 0.0, 1.0)
    return np.where(share > 0, share * turbulent + (1 - share) * laminar, laminar)


def line_loss(
    *,
    flow: Array,
    bore: Array,
    length: Array,
    density: Array,
    viscosity: Array,
    roughness: Array = 1.5e-6,
    fittings: Array = 0.0,
) -> Array:
    """Pressure loss of a line, Pa: (f·L/D + ΣK)·ρv²/2 (Darcy–Weisbach).

    flow m3/s (≥ 0), bore m, length m, roughness m (1.5 µm drawn tube), fittings ΣK on the bore's
    velocity head; under about 10 mm bore any K is rough. A −6 hose may have a bore of 7.9, 8.7
    or 9.5 mm: give the bore. Source: Darcy–Weisbach with ``friction_factor``.
    """
    # What belongs to the line alone is worked out first: flow may have many more elements.
    number = flow * (4 * density / (np.pi * bore * viscosity))
    friction = friction_factor(reynolds_number=number, relative_roughness=roughness / bore)
    pressure = density / 2 / (np.pi / 4 * bore**2) ** 2
    return (friction * (length / bore) + fittings) * (np.square(flow) * pressure)


def fittings_loss(*, flow: Array, bore: Array, density: Array, fittings: Array) -> Array:
    """Pressure loss of fittings alone, Pa: ΣK·ρv²/2. Source: Crane TP-410 form."""
    return fittings * density * flow_speed(flow=flow, bore=bore) ** 2 / 2


def full_turbulence_friction(*, bore: Array, roughness: Array = 45.72e-6) -> Array:
    """Friction factor at complete turbulence, Crane's f_T, to which elbows and tees are scaled.

    bore m; roughness 45.72 µm commercial steel. 90° elbow K = 30 f_T, 45° 16 f_T, tee through run
    20 f_T, through branch 60 f_T. Source: Crane TP-410, A-26; von Kármán's rough-pipe law.
    """
    return (-2 * np.log10(roughness / bore / 3.7)) ** -2.0


def elbow_loss_coefficient(*, bore: Array, angle: Array = np.pi / 2) -> Array:
    """K of a standard threaded elbow: 30 f_T at 90°, 16 f_T at 45° (linear between). Angle rad.

    Source: Crane TP-410, A-29 (coefficients from memory; rough below 10 mm bore).
    """
    return (2 + 28 * angle / (np.pi / 2)) * full_turbulence_friction(bore=bore)


def expansion_loss_coefficient(*, area_ratio: Array) -> Array:
    """K of a sudden widening on the smaller bore's velocity head: (1 − A₁/A₂)².

    Source: Borda–Carnot.
    """
    return (1 - area_ratio) ** 2


def series(*resistances: Array) -> Array:
    """Quadratic resistances (Δp = R·Q²) one after the other: the same flow, so R adds."""
    total: Array = 0.0
    for resistance in resistances:
        total = total + resistance
    return total


def parallel(*resistances: Array) -> Array:
    """Quadratic resistances (Δp = R·Q²) side by side: the same loss, so 1/√R adds."""
    conductance: Array = 0.0
    for resistance in resistances:
        conductance = conductance + 1 / np.sqrt(resistance)
    return conductance**-2.0


def scaled_loss(
    *,
    flow: Array,
    rated_flow: Array,
    rated_loss: Array,
    density: Array = 1.0,
    rated_density: Array = 1.0,
) -> Array:
    """Loss of a part known at one flow (filter, valve, sensor), Pa: ∝ ρ·Q².

    A clean paper filter goes nearer to linear, so this errs high above the rated flow and low
    beneath it. Source: orifice equation.
    """
    return rated_loss * (flow / rated_flow) ** 2 * density / rated_density


def rail_drop(
    *,
    injected: Array,
    passing: Array,
    bore: Array,
    length: Array,
    density: Array,
    viscosity: Array,
    rails: int = 1,
    in_series: bool = False,
) -> Array:
    """Pressure difference between the first and last injector along the rails, Pa.

    injected: volume flow of all injectors, drawn off evenly along the rails; passing: flow that
    goes on through to the regulator (return). Rails in parallel share both; in series the first
    rail carries the fuel of the others. length m of one rail. Per rail the loss is
    R·(p² + p·q + q²/3), p the flow that leaves its end and q what it injects, with R from the
    friction factor at its inlet. Dynamic pressure recovery (which opposes it) is left out.
    Source: Darcy–Weisbach integrated over even draw-off.
    """
    each = injected / rails
    through = passing if in_series else passing / rails
    total: Array = 0.0
    steps = rails if in_series else 1
    for index in range(steps):
        leaving = through + (steps - 1 - index) * each
        entering = leaving + each
        safe = np.maximum(entering, 1e-12)
        resistance = (
            line_loss(flow=safe, bore=bore, length=length, density=density, viscosity=viscosity)
            / safe**2
        )
        total = total + resistance * (leaving**2 + leaving * each + each**2 / 3)
    return total


def net_positive_suction(
    *,
    surface_pressure: Array,
    vapour_pressure: Array,
    density: Array,
    height: Array,
    loss: Array,
) -> Array:
    """Pressure at the pump inlet above vapour pressure, Pa (NPSH available times ρg).

    surface_pressure and vapour_pressure absolute; height m of liquid above the inlet (negative
    where the pump must lift); loss Pa of strainer and suction line. Source: Crane TP-410, NPSH.
    """
    return surface_pressure - vapour_pressure + density * GRAVITY * height - loss
