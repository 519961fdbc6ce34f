"""How many wheels and tyres a second the search looks through.

    python benchmarks/what_fits.py            a short table
    python benchmarks/what_fits.py --json     one JSON object

Screened: candidates run under every check that they bear on, few draws each, the making of their
states in the time. Examined: one at a time with all draws, as each offer is. The loop beside it
screens some of the same candidates one at a time with the same draws and must say the same.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from pathlib import Path

import numpy as np

from drybuild.examine import OpenBuild, open_build
from drybuild.examine.catalogue import Wanted
from drybuild.examine.catalogue.candidates import Field
from drybuild.examine.catalogue.screen import DRAWS, axle_scope, screen
from drybuild.examine.catalogue.search import gather
from drybuild.examine.examination import examine_state

ROOT = Path(__file__).parents[1]
DEMO = ROOT / "examples" / "plover"
ASKED = Wanted(widths="7 to 9.5 in", offsets="20 to 50 mm", sizes="all")
ONE_BY_ONE = 20
EXAMINED = 5


def _screen_all(opened: OpenBuild, field: Field) -> tuple[float, list[float]]:
    """Seconds, and the joint chance of each candidate."""
    begun = time.perf_counter()
    scope = axle_scope(opened.registry, opened.build.blends, ASKED.axle)
    states = [field.state(c) for c in field.candidates]
    found = screen(states, opened.registry, scope, proposed=field.proposed)
    return time.perf_counter() - begun, found.joint.tolist()


def _screen_each(opened: OpenBuild, field: Field, picked: list[int]) -> tuple[float, list[float]]:
    begun = time.perf_counter()
    scope = axle_scope(opened.registry, opened.build.blends, ASKED.axle)
    joint = [
        float(
            screen(
                [field.state(field.candidates[i])], opened.registry, scope, proposed=field.proposed
            ).joint[0]
        )
        for i in picked
    ]
    return time.perf_counter() - begun, joint


def _examine_each(opened: OpenBuild, field: Field, picked: list[int]) -> float:
    begun = time.perf_counter()
    for i in picked:
        examine_state(field.state(field.candidates[i]), opened.registry, unknowns=False)
    return time.perf_counter() - begun


def measure() -> dict[str, float]:
    """All times, once the columns of draws are there."""
    opened = open_build(DEMO)
    field = gather(opened.state(), opened.registry, ASKED)
    few = np.linspace(0, len(field.candidates) - 1, ONE_BY_ONE).astype(int).tolist()
    _screen_each(opened, field, few[:2])
    whole, joint = _screen_all(opened, field)
    each, alone = _screen_each(opened, field, few)
    if any(joint[i] != one for i, one in zip(few, alone, strict=True)):
        raise SystemExit("laid end to end and one by one do not say the same")
    examined = _examine_each(opened, field, few[:EXAMINED])
    count = len(field.candidates)
    return {
        "candidates": count,
        "draws": DRAWS,
        "candidates_per_second": count / whole,
        "one_by_one_per_second": ONE_BY_ONE / each,
        "examined_per_second": EXAMINED / examined,
        "ratio_to_one_by_one": count / whole * each / ONE_BY_ONE,
        "load_average": os.getloadavg()[0],
    }


def main() -> int:
    """Print the times."""
    parser = argparse.ArgumentParser(description="How fast the search of what-fits is.")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    found = measure()
    if parser.parse_args().json:
        print(json.dumps(found, indent=1))
        return 0
    for name, value in found.items():
        print(f"{name.replace('_', ' '):<24} {value:,.1f}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
