"""Write down the factor of every unit that can be spelt, as the units library (Pint) has it.

python tools/unit_factors.py --out src/drybuild/values/_factors.py

The library takes a fifth of a second to read its own definitions, at every start of every command.
tests/values/test_factors.py holds each line to the library as it is installed.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from drybuild.values import spellings
from drybuild.values.units import asked_of_pint

HEAD = '''"""Factor and offset to SI of each unit, by its expression and the SI unit it is taken to.

Written by tools/unit_factors.py from the units library (Pint); a test holds every line to it.
"""

FACTORS: dict[tuple[str, str], tuple[float, float]] = {
'''


def pairs() -> list[tuple[str, str]]:
    """Every expression with the SI unit of its family."""
    found = {
        (expression, spellings.PINT_SI[family])
        for family, spelt in spellings.FAMILIES.items()
        for expression in spelt.values()
    }
    return sorted(found)


def written() -> str:
    """The module as it must stand."""
    lines = [f'    ("{e}", "{si}"): {asked_of_pint(e, si)!r},\n' for e, si in pairs()]
    return HEAD + "".join(lines) + "}\n"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--out", type=Path, required=True)
    parser.parse_args().out.write_text(written(), encoding="utf-8")


if __name__ == "__main__":
    main()
