"""Units of a scan: stated, fixed by its form, or told from its size; asked for when in doubt."""

from __future__ import annotations

from .scan import Scan, ScanRefused

UNITS = {"m": 1.0, "mm": 0.001, "cm": 0.01, "in": 0.0254}
# A scan of one corner of a car is between a hand's width and a whole car long.
SHORTEST, LONGEST = 0.25, 6.0
LIST = "m, mm, cm or in"


def guess_units(scan: Scan, stated: str | None = None) -> str:
    """Units of the numbers in a scan. Raises ScanRefused where they cannot be or are in doubt.

    stated goes before what the form fixes, and both must give the size of a corner of a car.
    """
    size = float(scan.extent.max())
    if stated is not None and stated not in UNITS:
        raise ScanRefused(scan.file, f"units {stated!r}", LIST)
    if stated is not None or scan.units is not None:
        units = stated or scan.units or "m"
        long = size * UNITS[units]
        if not SHORTEST <= long <= LONGEST:
            fits = [one for one, m in UNITS.items() if SHORTEST <= size * m <= LONGEST]
            raise ScanRefused(
                scan.file, f"a scan {long:.3g} m long, its numbers taken as {units}",
                f"a corner of a car: {SHORTEST} to {LONGEST} m",
                f"its numbers could be {' or '.join(fits)}" if fits else "is it the right file?",
            )  # fmt: skip
        return units
    fits = [one for one, m in UNITS.items() if SHORTEST <= size * m <= LONGEST]
    # metres and millimetres are what scanners write; the others must be said
    likely = [one for one in fits if one in ("m", "mm")]
    if len(fits) == 1 or (len(likely) == 1 and size * UNITS[likely[0]] >= 0.4):
        return likely[0] if likely else fits[0]
    raise ScanRefused(
        scan.file, f"a scan {size:.4g} long, its file does not say in what",
        f"its units: {LIST}",
        f"they could be {' or '.join(fits)}" if fits else "no unit makes it a corner of a car",
    )  # fmt: skip
