"""Rules that the car was outside of as found: what is said beside a use, and why one is a stop."""

from __future__ import annotations

from collections.abc import Iterable

from drybuild.work.standing import Standing, Stop


def outside_text(car: Standing, names: Iterable[str]) -> str:
    """``compete: outside a rule as found, catch tank (club)``: of uses that nothing stops; empty
    where the car is outside of none."""
    known = tuple(names)
    rules = {use: found for use in known if (found := car.outside.get(use))}
    return "; ".join(
        f"{use + ': ' if len(known) > 1 else ''}outside "
        f"{'a rule' if len(found) == 1 else f'{len(found)} rules'} as found, {', '.join(found)}"
        for use, found in rules.items()
    )


def since_text(stop: Stop) -> str:
    """Why a stop that was so as found is one; empty of any other."""
    return f" (so as found; the builder's to answer for since: {stop.since})" if stop.since else ""
