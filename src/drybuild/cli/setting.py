"""The command that prints the alignment sheet."""

from __future__ import annotations

import argparse
from pathlib import Path

import drybuild
from drybuild.cli.refused import Refused


def run_alignment(arguments: argparse.Namespace) -> int:
    """``drybuild alignment``."""
    from drybuild.examine.setting_sheet import setting_sheet
    from drybuild.examine.tightening import joints
    from drybuild.show.alignment import sheet_text
    from drybuild.show.load_transfer import transfer_text
    from drybuild.show.tightening import tightening_text

    opened = drybuild.open_build(arguments.dir)
    examination = (
        opened.examine(arguments.state, draws=arguments.draws)
        if arguments.draws
        else opened.examine(arguments.state)
    )
    system = arguments.units or opened.build.head.units
    sheet = setting_sheet(examination, over=_over(arguments.over))
    opens = joints(examination)
    print(sheet_text(sheet, system))
    print(f"\n{transfer_text(sheet, system)}")
    if opens:
        print(f"\n{tightening_text(opens, system)}")
    if arguments.page:
        from drybuild.show.setting_page import write_setting_page

        write_setting_page(Path(arguments.page), sheet, opens, system)
        print(f"\npage written to {arguments.page}")
    return 0


def _over(text: str | None) -> float | None:
    """The diameter at which toe is said in lengths, m."""
    if text is None:
        return None
    from drybuild.values import ValueFault, parse_value

    try:
        found = parse_value(text, "positive_length").centre
    except ValueFault as fault:
        raise Refused(f"--over: {fault}") from None
    if not 0.1 <= found <= 2.0:
        raise Refused(f"--over: {text} is no diameter of a wheel; a rim flange has 350 to 600 mm")
    return found
