"""Commands around a build: new, demo, schema, blend."""

from __future__ import annotations

import argparse
import json
import math
from pathlib import Path
from typing import TYPE_CHECKING

from drybuild.cli.refused import Refused, in_utf8

if TYPE_CHECKING:
    from drybuild.values import Value


def run_blend(arguments: argparse.Namespace) -> int:
    """``drybuild blend``."""
    from drybuild.systems.fuel.properties import mixed_fraction, volume_to_add
    from drybuild.values import Draws, quantiles, show

    tank = _asked("--in-tank", arguments.in_tank, "volume")
    shares = [
        _asked("--tank", arguments.tank, "fraction"), _asked("--add", arguments.add, "fraction"),
    ]  # fmt: skip
    wanted = _asked("--want", arguments.want, "fraction").median
    present, added = (share.median for share in shares)
    litres = float(
        volume_to_add(
            present_volume=tank.median,
            present_fraction=present,
            added_fraction=added,
            wanted_fraction=wanted,
        )
    )
    if not math.isfinite(litres):
        raise Refused("that pump cannot bring the tank to the wanted blend, however much is added")
    draws = Draws()
    mixed = mixed_fraction(
        first_volume=tank.column(draws, "tank"),
        first_fraction=shares[0].column(draws, "in tank"),
        second_volume=litres,
        second_fraction=shares[1].column(draws, "pump"),
    )
    low, median, high = quantiles(mixed, (0.025, 0.5, 0.975))
    print(f"add {show('volume', litres)}")
    print(f"ethanol then: {show('fraction', float(median), float(low), float(high))}")
    print("Pump blends vary (what is sold as E85 may hold 51 to 85 %): measure what you put in.")
    return 0


def _asked(option: str, text: str, kind: str) -> Value:
    """What an option says. Raises Refused with the option's name."""
    from drybuild.values import ValueFault, parse_value

    try:
        return parse_value(text, kind)
    except ValueFault as error:
        raise Refused(f"{option}: {error}") from None


def run_schema(arguments: argparse.Namespace) -> int:
    """``drybuild schema``."""
    from drybuild.examine.schemas import schemas, write_schemas
    from drybuild.work.schemas import answers_schema

    if arguments.write:
        for path in write_schemas(Path(arguments.write)):
            print(path)
        return 0
    found = {**schemas(), "answers": answers_schema()}
    shown = found[arguments.name] if arguments.name else found
    print(json.dumps(shown, ensure_ascii=not in_utf8(), indent=1))
    return 0


def run_new(arguments: argparse.Namespace) -> int:
    """``drybuild new``."""
    from drybuild.asking import ask_and_make, list_starters

    if arguments.list:
        print(list_starters())
        return 0
    if not arguments.dir:
        raise Refused("name the folder to make, e.g. drybuild new my-car")
    print(
        ask_and_make(
            Path(arguments.dir),
            nearest=arguments.nearest,
            driving=arguments.driving,
            inspection=arguments.inspection,
            first=arguments.first,
        )
    )
    return 0


def run_demo(arguments: argparse.Namespace) -> int:
    """``drybuild demo``."""
    from drybuild.asking import copy_demo

    folder = Path(arguments.dir or ("saturdays" if arguments.work else "plover"))
    copy_demo(folder, work=arguments.work)
    print(f"The demo build (an invented car) lies in {folder}: look into its files as you like.\n")
    from drybuild.cli import main

    code = main(["check", str(folder)])
    if arguments.work:
        print(f"\nthe work: drybuild plan {folder}")
    return code
