"""Fasteners held to ISO 898-1, VDI 2230 and textbooks."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from drybuild.systems.corners import formulas_fasteners as f

Against = Callable[..., None]
ROOM = "drybuild.systems.corners.formulas_fasteners."
MM = 1e-3
ISO = "EN ISO 898-1:2009"
VDI = "fastener catalogue quoting VDI 2230:2001, fine threads, 90 % of yield"

COARSE = np.array([(6, 1.0), (8, 1.25), (10, 1.5), (12, 1.75), (14, 2.0)]) * MM


@pytest.mark.authority
def test_stress_areas_of_coarse_threads(against: Against) -> None:
    # Printed to three figures: 0.05 mm2 below 100, 0.5 above; the coarser rounding counts.
    got = f.stress_area(diameter=COARSE[:, 0], pitch=COARSE[:, 1])
    against(
        ROOM + "stress_area", got=got[:4] * 1e6, expected=np.array([20.1, 36.6, 58.0, 84.3]),
        abs=0.05, source=f"{ISO}, nominal stress areas, coarse", note="three figures",
    )  # fmt: skip


@pytest.mark.cross_model
def test_stress_area_of_a_library(against: Against) -> None:
    against(
        ROOM + "stress_area", got=f.stress_area(diameter=10 * MM, pitch=1.5 * MM) * 1e6,
        expected=57.9895969, rel=1e-8, source="me-toolbox 0.0.18, its test of an M10 thread",
    )  # fmt: skip


@pytest.mark.authority
def test_stress_areas_of_fine_threads(against: Against) -> None:
    rows = np.array([(8, 1.0), (10, 1.25), (12, 1.5), (12, 1.25)]) * MM
    got = f.stress_area(diameter=rows[:, 0], pitch=rows[:, 1])
    against(
        ROOM + "stress_area", got=got * 1e6, expected=np.array([39.2, 61.2, 88.1, 92.1]),
        abs=0.05, source=f"{ISO}, nominal stress areas, fine", note="three figures",
    )  # fmt: skip


PROOF = {
    "8.8": (11600, 21200, 33700, 48900, 66700),
    "10.9": (16700, 30400, 48100, 70000, 95500),
    "12.9": (19500, 35500, 56300, 81800, 112000),
}


@pytest.mark.authority
def test_proof_loads_of_the_standard(against: Against) -> None:
    got = [[f.proof_load(property_class=c, diameter=d, pitch=p) for d, p in COARSE] for c in PROOF]
    against(
        ROOM + "proof_load", got=np.array(got), expected=np.array(list(PROOF.values()), float),
        rel=1 / 116, source=f"{ISO}, proof loads, coarse threads",
        note="three figures, some cut and not rounded (580·20.1 = 11658 is printed 11600)",
    )  # fmt: skip


@pytest.mark.authority
def test_strengths_of_the_standard(against: Against) -> None:
    got = [
        f.class_strength(property_class=c, diameter=d * MM)
        for c, d in (("8.8", 12), ("8.8", 18), ("10.9", 12), ("12.9", 12))
    ]
    against(
        ROOM + "class_strength", got=np.array(got) / 1e6,
        expected=np.array([(580, 800, 640), (600, 830, 660), (830, 1040, 940),
                           (970, 1220, 1100)], float),
        rel=1e-12, source=f"{ISO}, least proof, tensile and yield",
    )  # fmt: skip


# Thread, class -> clamp kN, torque N·m at a friction of 0.12; bearing ring from head and hole.
FINE = {
    (8, 1.0): ((20.2, 26.1), (29.7, 38.3), (34.7, 44.9)),
    (10, 1.25): ((31.6, 51.0), (46.4, 75.0), (54.3, 87.0)),
    (12, 1.25): ((48.0, 90.0), (70.5, 133.0), (82.5, 155.0)),
    (14, 1.5): ((64.8, 142.0), (95.2, 209.0), (111.4, 244.0)),
}
CLASSES = ("8.8", "10.9", "12.9")


@pytest.mark.authority
def test_clamp_at_nine_tenths_of_yield(against: Against) -> None:
    got, expected = [], []
    for (d, p), rows in FINE.items():
        for name, (clamp, _) in zip(CLASSES, rows, strict=True):
            strength = f.class_strength(property_class=name, diameter=d * MM)[2]
            got.append(f.clamp_at_yield_share(
                share=0.9, yield_strength=strength, diameter=d * MM, pitch=p * MM,
                thread_friction=0.12,
            ))  # fmt: skip
            expected.append(clamp * 1e3)
    against(
        ROOM + "clamp_at_yield_share", got=np.array(got), expected=np.array(expected), rel=0.005,
        source=VDI, note="printed to three figures",
    )  # fmt: skip


@pytest.mark.authority
def test_clamp_at_nine_tenths_of_yield_by_friction(against: Against) -> None:
    mu = np.array([0.10, 0.12, 0.14])
    got = f.clamp_at_yield_share(
        share=0.9, yield_strength=940e6, diameter=14 * MM, pitch=1.5 * MM, thread_friction=mu
    )
    against(
        ROOM + "clamp_at_yield_share", got=got / 1e3, expected=np.array([97.5, 95.2, 92.9]),
        rel=0.005, source=f"{VDI}, M14x1.5 10.9", note="printed to three figures",
    )  # fmt: skip


@pytest.mark.authority
def test_clamp_by_friction_of_the_printed_torques(against: Against) -> None:
    # Bearing rings as in the standard's own heads: dw 16.63 and 19.64, holes 13.5 and 15.5 mm.
    torque = np.array([90.0, 133.0, 155.0, 142.0, 209.0, 244.0])
    size = np.array([(12, 1.25)] * 3 + [(14, 1.5)] * 3) * MM
    ring = np.array([(16.63 + 13.5) / 2] * 3 + [(19.64 + 15.5) / 2] * 3) * MM
    got = f.clamp_by_friction(
        torque=torque, diameter=size[:, 0], pitch=size[:, 1], thread_friction=0.12,
        seat_friction=0.12, seat_diameter=ring,
    )  # fmt: skip
    against(
        ROOM + "clamp_by_friction", got=got / 1e3,
        expected=np.array([48.0, 70.5, 82.5, 64.8, 95.2, 111.4]), rel=0.0066,
        source=VDI, note="torques printed to 1 in 90 to 244: half a digit is 0.56 %, of the clamp 0.10 %",  # noqa: E501
    )  # fmt: skip


@pytest.mark.textbook
def test_clamp_from_torque(against: Against) -> None:
    got = f.clamp_from_torque(
        torque=np.array([110.0, 110.0, 135.0]), diameter=12 * MM,
        nut_factor=np.array([0.2, 0.157, 0.2]),
    )  # fmt: skip
    against(
        ROOM + "clamp_from_torque", got=got / 1e3, expected=np.array([45.833, 58.386, 56.250]),
        abs=5e-4, source="Shigley, Mechanical Engineering Design, ch. 8: F = T/(K·d) (from memory)",
        note="by hand to the newton",
    )  # fmt: skip


@pytest.mark.textbook
def test_a_cone_seat_doubles_the_lever_of_friction(against: Against) -> None:
    got = f.seat_lever(mean_diameter=18 * MM, cone_angle=np.radians([60.0, 90.0, 180.0]))
    against(
        ROOM + "seat_lever", got=got / MM, expected=np.array([36.0, 25.4558, 18.0]), abs=5e-5,
        source="Shigley, ch. 16, cone clutch D/sin α (from memory), by hand",
    )  # fmt: skip


@pytest.mark.textbook
def test_nut_factor_of_a_flat_seat_holds_the_usual_frictions(against: Against) -> None:
    # K = 0.16·P/d + 0.58·d2/d·μ + D/(2d)·μ of M12x1.5 at μ 0.10 and 0.18 (ring 15.1 mm)
    torque, size = 100.0, {"diameter": 12 * MM, "pitch": 1.5 * MM}
    factors = [
        torque / 0.012 / f.clamp_by_friction(
            torque=torque, **size, thread_friction=mu, seat_friction=mu, seat_diameter=15.1 * MM)
        for mu in (0.10, 0.18)
    ]  # fmt: skip
    against(
        ROOM + "seat_factor", got=np.array(f.seat_factor(seat="flat")),
        expected=np.array(factors), abs=0.01,
        source="VDI 2230 part 1 (from memory), friction classes A and B up to 0.18",
        note="the table keeps two decimals",
    )  # fmt: skip


@pytest.mark.practice
def test_thread_that_holds(against: Against) -> None:
    # ISO 4032: an M12 nut is 10.8 mm high, 0.9 d; its thread is chamfered at both ends.
    got = [f.least_engagement(diameter=12 * MM, held_by=h) for h in ("nut", "steel", "aluminium")]
    against(
        ROOM + "least_engagement", got=np.array(got) / MM, expected=np.array([9.6, 12.0, 24.0]),
        rel=1e-9, source="workshop rule: full nut, one diameter in steel, two in aluminium",
    )  # fmt: skip
