"""The command that searches wheels and tyres: what fits, and what must change so that one does."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import drybuild
from drybuild.cli.refused import Refused, in_utf8


def run_what_fits(arguments: argparse.Namespace) -> int:
    """``drybuild what-fits``."""
    if arguments.must_fit:
        return _run_must_fit(arguments)
    if arguments.tyre:
        raise Refused("--tyre goes with --must-fit; to search, name sizes with --sizes")
    from drybuild.examine.catalogue.as_json import what_fits_json
    from drybuild.examine.examination import DRAWS
    from drybuild.show.what_fits import what_fits_page, what_fits_text, write

    opened = drybuild.open_build(arguments.dir)
    system = arguments.units or opened.build.head.units
    found = opened.what_fits(
        arguments.axle, state=arguments.state, draws=arguments.draws or DRAWS, rims=arguments.rims,
        tyres=arguments.tyres, widths=arguments.widths, offsets=arguments.offsets,
        sizes=arguments.sizes, camber=arguments.camber, spacer=arguments.spacer,
        offer=arguments.offer, first=arguments.first,
    )  # fmt: skip
    if arguments.page:
        write(Path(arguments.page), what_fits_page(found, system))
    if arguments.json:
        data = what_fits_json(found, version=drybuild.__version__)
        print(json.dumps(data, ensure_ascii=not in_utf8(), indent=1, allow_nan=False))
    else:
        print(what_fits_text(found, system, every=arguments.all))
    _told(arguments)
    return 0


def _run_must_fit(arguments: argparse.Namespace) -> int:
    from drybuild.examine.catalogue.as_json import must_fit_json
    from drybuild.examine.examination import DRAWS
    from drybuild.show.what_fits import must_fit_page, must_fit_text, write

    if not arguments.tyre:
        raise Refused('--must-fit wants a tyre: --tyre "245/40 R17 91W", or its id in parts/')
    given = {"--rims": arguments.rims, "--tyres": arguments.tyres, "--sizes": arguments.sizes,
             "--camber": arguments.camber, "--spacer": arguments.spacer}  # fmt: skip
    named = [name for name, value in given.items() if value]
    if named:
        raise Refused(f"{', '.join(named)}: not with --must-fit, which tries them by itself")
    opened = drybuild.open_build(arguments.dir)
    system = arguments.units or opened.build.head.units
    found = opened.must_fit(
        arguments.tyre, arguments.axle, state=arguments.state, draws=arguments.draws or DRAWS,
        wheel=arguments.wheel, rim_width=arguments.widths, offset=arguments.offsets,
    )  # fmt: skip
    if arguments.page:
        write(Path(arguments.page), must_fit_page(found, system))
    if arguments.json:
        data = must_fit_json(found, version=drybuild.__version__)
        print(json.dumps(data, ensure_ascii=not in_utf8(), indent=1, allow_nan=False))
    else:
        print(must_fit_text(found, system))
    _told(arguments)
    return 0


def _told(arguments: argparse.Namespace) -> None:
    if arguments.page and not arguments.json:
        print(f"\nThe page is written: {arguments.page}")
