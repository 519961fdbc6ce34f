"""Charts as files of their own, drawn once an examination and kept.

The app's pages load no style that stands inside them; a chart is therefore a picture with its own
colours, light and dark, and with headers that let it have them and nothing else.
"""

from __future__ import annotations

import re
import threading
from collections import OrderedDict

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


class Pictures:
    """Charts by the state that they are of. Methods may be called from any thread."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: OrderedDict[str, tuple[Chart, ...]] = OrderedDict()

    def of(self, examination: Examination, key: str, system: System) -> tuple[Chart, ...]:
        """The charts of breathing and fuel of a state. Raises PageExtraMissing."""
        with self._lock:
            if key not in self._kept:
                self._kept[key] = tuple(charts(examination, system))
                while len(self._kept) > KEPT:
                    self._kept.popitem(last=False)
            self._kept.move_to_end(key)
            return self._kept[key]


def as_file(chart: Chart) -> str:
    """A chart with its own colours, as a file that stands alone."""
    head, _, rest = chart.svg.partition(">")
    return f"{head}>{COLOURS}{rest}"
