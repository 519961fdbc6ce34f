"""Raw entries of a file -> Value: text, numbers, lists of readings, tables."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from statistics import fmean, stdev

from drybuild.values.errors import MethodFault, UnitFault, ValueFault, brief
from drybuild.values.kinds import Kind, kind_named
from drybuild.values.methods import METHODS, method_named, methods_for
from drybuild.values.text import Written, plain_number, read, read_amount, read_width
from drybuild.values.units import Unit, listed, nearest
from drybuild.values.value import LOGNORMAL_FROM, HowKnown, Shape, Value, t95

TABLE_KEYS = ("is", "by", "plus_minus", "spread", "exact", "note", "same_as", "tool", "seen_by",
              "how")

# What a bare number is worth against a catalogue figure's doubt (common practice).
_WITH_FIELD = {HowKnown.ASSUMED: 3.0}
_WITHOUT_FIELD = {HowKnown.ASSUMED: 4.0, HowKnown.CATALOGUE: 1.0, HowKnown.MAKER: 0.5,
                  HowKnown.MEASURED: 0.5, HowKnown.SEEN: 0.5}


def parse_value(raw: object, kind: str, *, how: str | HowKnown = "catalogue",
                default_doubt: str | None = None) -> Value:
    """Read one entry as a value of that kind.

    ``raw``: text (``"62 ± 2 mm"``), a plain number where the kind has no unit, a list of
    repeated readings, or a table with ``is``. ``how``: how the figures of this file are known,
    where the entry says nothing. ``default_doubt``: text such as ``"1 mm"`` or ``"2 %"``, the
    95 % half-width of a bare number. Raises ValueFault.
    """
    the_kind = kind_named(kind)
    entry = raw if isinstance(raw, Mapping) else {"is": raw}
    return _Reader(the_kind, HowKnown.named(how), default_doubt).table(entry, raw)


def method_doubt(by: str, kind: str, about: float) -> tuple[float, float] | None:
    """The (bias, repeat) half-widths in SI that a way of measuring brings to a figure ``about``
    (SI); None when it states none for that kind."""
    name = method_named(by, kind)
    if name is None or not METHODS[name].doubts:
        return None
    bias, repeat = (0.0 if text == "0" else read_width(text, kind_named(kind), about)
                    for text in METHODS[name].doubts[kind])
    return bias, repeat


def checked_method(by: str, kind: Kind) -> str:
    """The way of measuring that ``by`` names. Raises MethodFault unless one suits the kind."""
    method = METHODS.get(by)
    name = method_named(by, kind.name)
    if name is not None:
        return name
    suits = ", ".join(methods_for(kind.name))
    if method is None:
        near = nearest(by, METHODS)
        raise MethodFault(f"by = {by!r}", f"a way of measuring {kind.what}: {suits}",
                          f"Nearest right word: {near}." if near else "")
    raise MethodFault(f"by = {by!r}", f"a way of measuring {kind.what}: {suits}",
                      f"{by} does not measure {kind.what}.")


class _Reader:
    """Reads one entry. Holds what the entry does not say itself."""

    def __init__(self, kind: Kind, how: HowKnown, default_doubt: str | None) -> None:
        self.kind = kind
        self.how = how
        self.default_doubt = default_doubt

    def table(self, table: Mapping[str, object], raw: object) -> Value:
        self._check_keys(table)
        note = self._text(table, "note")
        by = self._text(table, "by")
        tool = self._text(table, "tool")
        if by is not None and "same_as" not in table:
            by = checked_method(by, self.kind)
        how = self._how(table, by)
        shown = raw if isinstance(raw, str) else _shown(table)
        reference = self._text(table, "same_as")
        if reference is not None:
            if "is" in table:
                raise ValueFault("both is and same_as", "one of the two",
                                 "A copy is a reference; it has no figure of its own.")
            return Value(self.kind.name, "same_as", math.nan, how=how, note=note,
                         same_as=reference, text=shown)
        if "is" not in table:
            raise ValueFault(f"a table without is ({shown})",
                             f"{{ is = {self.kind.example!r}, by = \"tape\" }}",
                             "Give the figure under is.")
        exact = table.get("exact", False)
        if not isinstance(exact, bool):
            raise ValueFault(f"exact = {brief(exact)}", "true or false")
        stated = table.get("plus_minus")
        if exact and stated is not None:
            raise ValueFault("both exact and plus_minus", "one of the two")
        figure = table["is"]
        if isinstance(figure, Sequence) and not isinstance(figure, str | bytes):
            value = self._readings(figure, by, how)
        else:
            value = self._single(figure, by, how, stated, exact)
        spread = 0.0
        if "spread" in table:
            spread = self._width(table["spread"], "spread", value.centre, None)
            if value.shape == "exact":  # the items differ, so the edges are the kind's again
                low, high = self.kind.low, self.kind.high
                value = value.replaced(low=-math.inf if low is None else low,
                                       high=math.inf if high is None else high)
        return value.replaced(spread=spread, note=note, tool=tool, text=shown)

    def _check_keys(self, table: Mapping[str, object]) -> None:
        for key in table:
            if key not in TABLE_KEYS:
                near = nearest(key, TABLE_KEYS) if isinstance(key, str) else ""
                raise ValueFault(f"the key {brief(key)} in a value", ", ".join(TABLE_KEYS),
                                 f"Nearest right key: {near}." if near else "")

    def _text(self, table: Mapping[str, object], key: str) -> str | None:
        found = table.get(key)
        if found is None:
            return None
        if not isinstance(found, str) or not found.strip():
            raise ValueFault(f"{key} = {brief(found)}", "a text")
        return found.strip()

    def _how(self, table: Mapping[str, object], by: str | None) -> HowKnown:
        how = self.how
        if by is not None and by in METHODS:
            how = METHODS[by].how
        stated = self._text(table, "how")
        if stated is not None:
            try:
                how = HowKnown.named(stated)
            except ValueError:
                raise ValueFault(f"how = {stated!r}", ", ".join(
                    one.name.lower() for one in HowKnown)) from None
        if self._text(table, "seen_by") is not None:
            if how < HowKnown.MEASURED:
                raise ValueFault("seen_by on a figure that was not measured",
                                 "by = the way of measuring as well",
                                 "A second person sees a measurement, not a catalogue.")
            how = HowKnown.SEEN
        return how

    def _read(self, figure: object) -> Written:
        kind = self.kind
        if isinstance(figure, bool):
            if kind.name == "match":
                return Written("plain", 1.0 if figure else -1.0)
            raise ValueFault(f"{figure}".lower(), f"{kind.what} such as {kind.example!r}")
        if isinstance(figure, int | float):
            number = plain_number(figure)
            if number is None:
                raise ValueFault(f"a number beyond all size ({type(figure).__name__})",
                                 f"{kind.what} such as {kind.example!r}")
            if not kind.dimensionless:
                raise UnitFault(f"the bare number {brief(figure)}",
                                f"{kind.what} in {listed(kind)}",
                                f"Write it as text with its unit, such as \"{kind.example}\".")
            if kind.name == "match":
                raise ValueFault(f"{figure}", "true or false")
            return Written("plain", number)
        if not isinstance(figure, str):
            raise ValueFault(f"{type(figure).__name__} {brief(figure)}",
                             f"{kind.what} such as {kind.example!r}")
        return read(figure, kind)

    def _single(self, figure: object, by: str | None, how: HowKnown, stated: object,
                exact: bool) -> Value:
        written = self._read(figure)
        kind = self.kind
        unit = written.unit.text if written.unit is not None else ""
        if written.form != "plain":
            if exact or stated is not None:
                raise ValueFault(f"{brief(figure)} with exact or plus_minus", "a single figure",
                                 "A range or a limit states its own doubt.")
            return self._edged(written, figure, by, how, unit)
        self._check_bounds(written.centre, figure)
        if exact:
            return Value(kind.name, "exact", written.centre, low=written.centre,
                         high=written.centre, how=how, by=by, unit=unit)
        half = written.half
        if stated is not None:
            if half is not None:
                raise ValueFault(f"{brief(figure)} with plus_minus", "the doubt stated once")
            half = self._width(stated, "plus_minus", written.centre, written.unit)
        bias = 0.0
        method = METHODS[by] if by is not None else None
        if method is not None and method.doubts:
            bias, repeat = self._method_doubt(by, written.centre)
            half = math.hypot(bias, repeat) if half is None else half
            bias = min(bias, half)
        elif half is None:
            half = self._default(written.centre, how, method is not None)
        return self._bell(written.centre, half, bias, how, by, unit)

    def _bell(self, centre: float, half: float, bias: float, how: HowKnown, by: str | None,
              unit: str) -> Value:
        kind = self.kind
        low = -math.inf if kind.low is None else kind.low
        high = math.inf if kind.high is None else kind.high
        shape: Shape = "normal"
        if half == 0.0:
            return Value(kind.name, "exact", centre, low=centre, high=centre, how=how, by=by,
                         unit=unit)
        if kind.nonnegative and kind.high is None and 0.0 < centre * LOGNORMAL_FROM < half:
            shape = "lognormal"
        return Value(kind.name, shape, centre, half_width=half, low=low, high=high, how=how, by=by,
                     bias=bias, unit=unit)

    def _edged(self, written: Written, figure: object, by: str | None, how: HowKnown,
               unit: str) -> Value:
        kind = self.kind
        low = -math.inf if kind.low is None else kind.low
        high = math.inf if kind.high is None else kind.high
        if written.form == "range":
            self._check_bounds(written.low, figure)
            self._check_bounds(written.high, figure)
            return Value(kind.name, "uniform", written.centre,
                         half_width=(written.high - written.low) / 2.0, low=written.low,
                         high=written.high, how=how, by=by, unit=unit)
        self._check_bounds(written.centre, figure)
        if written.form == "above":
            if kind.high is not None:
                return Value(kind.name, "uniform", (written.centre + kind.high) / 2.0,
                             half_width=(kind.high - written.centre) / 2.0, low=written.centre,
                             high=kind.high, how=how, by=by, unit=unit)
            return Value(kind.name, "above", written.centre, half_width=abs(written.centre) * 0.3,
                         low=written.centre, high=high, how=how, by=by, unit=unit)
        bottom = 0.0 if written.centre > 0.0 else low
        return Value(kind.name, "below", written.centre, half_width=abs(written.centre) * 0.5,
                     low=bottom, high=written.centre, how=how, by=by, unit=unit)

    def _readings(self, figures: Sequence[object], by: str | None, how: HowKnown) -> Value:
        kind = self.kind
        if len(figures) < 2:
            raise ValueFault(f"a list of {len(figures)}", "two or more repeated readings",
                             "Write a single reading as text.")
        amounts: list[float] = []
        unit = ""
        for figure in figures:
            if isinstance(figure, str):
                amount = read_amount(figure.strip(), kind, figure)
                amounts.append(amount.si)
                unit = amount.unit.text
            else:
                amounts.append(self._read(figure).centre)
            self._check_bounds(amounts[-1], figure)
        n, mean, scatter = len(amounts), fmean(amounts), stdev(amounts)
        bias, repeat = 0.0, 0.0
        if by is not None and METHODS[by].doubts:
            bias, repeat = self._method_doubt(by, mean)
        if how < HowKnown.MEASURED and by is None:
            how = HowKnown.MEASURED
        known = repeat / 2.0
        if n == 2 or scatter == 0.0:
            if known == 0.0:
                found = "two readings" if n == 2 else "readings that are all the same"
                raise ValueFault(found, "three or more, or by = the way of measuring",
                                 "They say too little about their own scatter.")
            own = 2.0 * max(known, scatter) / math.sqrt(n)
            return self._bell(mean, math.hypot(own, bias), bias, how, by, unit)
        # readings that agree better than the tool repeats are luck, not skill
        own = t95(n - 1) * max(scatter, known) / math.sqrt(n)
        low = -math.inf if kind.low is None else kind.low
        high = math.inf if kind.high is None else kind.high
        return Value(kind.name, "readings", mean, half_width=math.hypot(own, bias), low=low,
                     high=high, dof=n - 1, how=how, by=by, bias=bias, unit=unit)

    def _method_doubt(self, by: str | None, about: float) -> tuple[float, float]:
        return method_doubt(by or "", self.kind.name, about) or (0.0, 0.0)

    def _default(self, centre: float, how: HowKnown, says_how: bool) -> float:
        if self.default_doubt is not None:
            return self._rule_width(self.default_doubt, centre) * _WITH_FIELD.get(how, 1.0)
        half = self._rule_width(self.kind.doubt, centre)
        return half * _WITHOUT_FIELD[how]

    def _rule_width(self, text: str, about: float) -> float:
        """A width from our own tables or a field's own words."""
        if text.strip() == "0":
            return 0.0
        if self.kind.family == "temperature" and text.endswith("%"):
            text = self.kind.doubt
        return read_width(text, self.kind, about)

    def _width(self, raw: object, key: str, about: float, unit: Unit | None) -> float:
        if isinstance(raw, int | float) and not isinstance(raw, bool):
            if not self.kind.dimensionless:
                raise UnitFault(f"{key} = {brief(raw)}",
                                f"a text with a unit, in {listed(self.kind)}",
                                "Write the unit too, or a percentage such as '3 %'.")
            width = plain_number(raw)
            if width is None or width < 0.0:
                raise ValueFault(f"{key}: a number below zero or not finite",
                                 "a width that is not negative")
            return width
        if not isinstance(raw, str):
            raise ValueFault(f"{key} = {brief(raw)}", "a text such as '2 mm' or '3 %'")
        points = unit.percent if unit is not None else False
        return read_width(raw, self.kind, about, unit=unit, percent_points=points)

    def _check_bounds(self, value: float, figure: object) -> None:
        kind = self.kind
        if not math.isfinite(value):
            raise ValueFault(f"{brief(figure)}", f"a finite {kind.name.replace('_', ' ')}")
        if kind.low is not None and value < kind.low:
            hint = f"{kind.what[0].upper()}{kind.what[1:]} cannot be negative."
            if kind.family == "temperature":
                hint = "That is below absolute zero."
            raise ValueFault(f"{brief(figure)}", f"{kind.what} such as {kind.example!r}", hint)
        if kind.high is not None and value > kind.high:
            raise ValueFault(f"{brief(figure)}", f"{kind.what} such as {kind.example!r}",
                             "Write a percentage with its sign: '85 %'.")


def _shown(table: Mapping[str, object]) -> str:
    if set(table) == {"is"}:
        return brief(table["is"])
    return "{ " + ", ".join(f"{key} = {brief(value)}" for key, value in table.items()) + " }"
