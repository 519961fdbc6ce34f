"""The cooling room against the world."""

from __future__ import annotations

import ht
import numpy as np
import pytest

from drybuild.systems.cooling import formulas as f

ROOM = "drybuild.systems.cooling.formulas"


def core():
    """A crossflow core worked by another library: 0.25 kg/s at 120 °C against 0.8 kg/s at 25 °C."""
    return ht.effectiveness_NTU_method(
        mh=0.25, mc=0.80, Cph=1005.0, Cpc=1005.0, subtype="crossflow", Thi=393.15, Tci=298.15,
        UA=300.0,
    )  # fmt: skip


@pytest.mark.textbook
def test_climb_power(against):
    """In the old units: pounds-force times miles an hour over 375 is horsepower."""
    weight, gradient, drag, mph, eta = 2712.0, 0.10, 78.7, 31.07, 0.92
    horsepower = (weight * gradient + drag) * mph / 375.0 / eta
    against(
        f"{ROOM}.climb_power",
        got=f.climb_power(
            mass=weight * 0.45359237, gradient=gradient, speed=mph * 0.44704,
            road_load=drag * 4.4482216, driveline_efficiency=eta,
        )
        / 745.69987,
        expected=horsepower,
        rel=1e-6,
        source="Gillespie (1992), chapter 2: power is force times speed over 375",
    )  # fmt: skip


@pytest.mark.textbook
def test_coolant_heat_share(against):
    """Brake 25 to 28 %, coolant 17 to 26 % of the fuel at full load: a ratio of about 0.8."""
    against(
        f"{ROOM}.coolant_heat",
        got=f.coolant_heat(brake_power=0.265, ratio=0.8),
        expected=0.215,
        abs=0.045,
        source="Heywood (1988), table 12.1, spark ignition, full load",
        note="the table's band; from memory",
    )


@pytest.mark.practice
def test_fan_matters_below_fifty(against):
    """With a fifth of the road speed through the core, a fan's 3 m/s counts up to some 50 km/h."""
    speeds = np.linspace(0.0, 30.0, 301)
    through = f.face_speed(road_speed=speeds, ram_share=0.2, fan_air_speed=3.0)
    last = speeds[np.isclose(through, 3.0)][-1]
    against(
        f"{ROOM}.face_speed",
        got=last * 3.6,
        expected=50.0,
        abs=10.0,
        source="practice: fans switch off on the road at 40 to 60 km/h",
    )


@pytest.mark.cross_model
def test_air_after_core(against):
    found = core()
    against(
        f"{ROOM}.air_after_core",
        got=f.air_after_core(
            temperature=298.15, heat=found["Q"], face_area=0.1, air_speed=0.80 / (1.1 * 0.1),
            density=1.1,
        ),
        expected=found["Tco"],
        abs=1e-6,
        source="ht 1.2, effectiveness_NTU_method, cold side out",
    )  # fmt: skip


@pytest.mark.textbook
def test_air_into_radiator(against):
    """Nine parts of 42 °C and eleven of 30 °C make twenty of 35.4 °C."""
    against(
        f"{ROOM}.air_into_radiator",
        got=f.air_into_radiator(outside=303.15, after_charge_cooler=315.15, covered=0.45) - 273.15,
        expected=(9 * 42.0 + 11 * 30.0) / 20.0,
        abs=1e-9,
        source="mixing of two air streams, Cengel and Boles, section 14-7",
    )


@pytest.mark.cross_model
def test_fluid_temperature(against):
    """The hot stream's inlet temperature found back from the heat and the core's W/K."""
    found = core()
    per_kelvin = found["effectiveness"] * found["Cmin"]
    against(
        f"{ROOM}.fluid_temperature",
        got=f.fluid_temperature(sink=298.15, heat=found["Q"], conductance=per_kelvin),
        expected=393.15,
        abs=1e-6,
        source="ht 1.2, effectiveness_NTU_method",
    )


@pytest.mark.cross_model
def test_charge_heat(against):
    found = core()
    against(
        f"{ROOM}.charge_heat",
        got=f.charge_heat(flow=0.25, temperature_in=393.15, temperature_out=found["Tho"]),
        expected=found["Q"],
        rel=1e-9,
        source="ht 1.2, effectiveness_NTU_method",
    )


@pytest.mark.practice
def test_idle_heat(against):
    """Three grams of air a second at idle: a few kilowatts into the coolant."""
    against(
        f"{ROOM}.idle_heat",
        got=f.idle_heat(air_flow=3e-3, energy_per_air=2.955e6, coolant_share=0.35) / 1e3,
        expected=3.5,
        abs=1.5,
        source="practice: a warm idling car engine gives its coolant 2 to 5 kW",
    )
