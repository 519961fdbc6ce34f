"""Charts as files of their own, drawn once an examination and kept.

The app's pages load no style that stands inside them; a chart is therefore a picture with its own
colours, light and dark, and with headers that let it have them and nothing else.
"""

from __future__ import annotations

import re
import secrets
import threading
from collections import OrderedDict
from dataclasses import fields, is_dataclass
from hashlib import blake2b
from typing import Any, cast

import numpy as np

from drybuild.examine import Examination
from drybuild.show.charts import Chart, charts
from drybuild.values import System

KEPT = 12

COLOURS = (
    "<style>:root{--ink:#26343b;--soft:#4f5c62;--pale:#b9c4c6;--mark:#8a4214}"
    "@media(prefers-color-scheme:dark){:root{--ink:#e9e6da;--soft:#b4bec1;--pale:#55636a;"
    "--mark:#eaa570}}text{font-family:'Source Sans 3','Noto Sans','DejaVu Sans',sans-serif}"
    "</style>"
)

HEADERS = {
    "content-security-policy": "default-src 'none'; style-src 'unsafe-inline'; sandbox",
    "cache-control": "private, max-age=600",
}


def slug(title: str) -> str:
    """A chart's name in an address."""
    return re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")


class _Heard:
    """An examination that remembers which of its results were asked for."""

    def __init__(self, examination: Examination) -> None:
        self.state, self.evaluation, self._of = examination.state, self, examination.evaluation
        self.marks: dict[str, bytes] = {}

    def get(self, address: str) -> Any:
        """The outcome at an address."""
        found = self._of.get(address)
        self.marks[address] = _mark(found.value)
        return found

    def mark(self, address: str) -> bytes:
        """What tells the outcome at an address from every other."""
        if address not in self.marks:
            self.get(address)
        return self.marks[address]


def _mark(value: Any) -> bytes:
    """What tells a result from every other; of a sort not known here, one that fits nothing."""
    digest = blake2b(type(value).__name__.encode(), digest_size=16)
    if isinstance(value, np.ndarray):
        digest.update(f"{value.dtype}{value.shape}".encode())
        digest.update(np.ascontiguousarray(value).data)
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            digest.update(_mark(getattr(value, field.name)))
    elif isinstance(value, list | tuple):
        for item in value:
            digest.update(_mark(item))
    elif isinstance(value, str | int | float | bool | None):
        digest.update(repr(value).encode())
    else:
        digest.update(secrets.token_bytes(16))
    return digest.digest()


_Drawn = tuple[dict[str, bytes], tuple[str, ...], System, tuple[Chart, ...]]


class Pictures:
    """Charts by the state that they are of. Methods may be called from any thread.

    Where an edit altered nothing that a chart was drawn from, it is not drawn again.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: OrderedDict[str, _Drawn] = OrderedDict()

    def of(self, examination: Examination, key: str, system: System) -> tuple[Chart, ...]:
        """The charts of breathing and fuel of a state. Raises PageExtraMissing."""
        with self._lock:
            if key not in self._kept:
                self._kept[key] = self._same(examination, system) or _drawn(examination, system)
                while len(self._kept) > KEPT:
                    self._kept.popitem(last=False)
            self._kept.move_to_end(key)
            return self._kept[key][3]

    def _same(self, examination: Examination, system: System) -> _Drawn | None:
        """Charts that were drawn from the very same results."""
        heard = _Heard(examination)
        for drawn in reversed(self._kept.values()):
            marks, blends, units, _ = drawn
            if (blends, units) == (examination.state.build.blends, system) and all(
                heard.mark(address) == mark for address, mark in marks.items()
            ):
                return drawn
        return None


def _drawn(examination: Examination, system: System) -> _Drawn:
    heard = _Heard(examination)
    made = tuple(charts(cast(Examination, heard), system))
    return heard.marks, examination.state.build.blends, system, made


def as_file(chart: Chart) -> str:
    """A chart with its own colours, as a file that stands alone."""
    head, _, rest = chart.svg.partition(">")
    return f"{head}>{COLOURS}{rest}"
