"""A sheet to draw on with text: SVG by hand, black lines, words that are broken to fit.

One face for the screen and one for paper, for words have to fit before anybody measures them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from html import escape
from textwrap import wrap
from typing import Literal

Point = tuple[float, float]


def plain(words: str) -> str:
    """Words on one line without what no paper prints: breaks and control signs become spaces."""
    return "".join(sign if sign.isprintable() else " " for sign in words)


@dataclass(frozen=True, slots=True)
class Face:
    """Letters. em: width of a usual letter, in heights of the type."""

    family: str
    em: float


SCREEN = Face("'Source Sans 3','Noto Sans','DejaVu Sans',sans-serif", 0.56)
PAPER = Face("'Libertinus Serif',serif", 0.48)

Anchor = Literal["start", "middle", "end"]


@dataclass
class Drawing:
    """One drawing under way. y grows downwards; ink: colour of lines and words."""

    face: Face
    ink: str = "#1d2a30"
    parts: list[str] = field(default_factory=list)

    def line(
        self, points: Iterable[Point], *, width: float = 1.0, dash: str = "", fill: str = "none",
        closed: bool = False,
    ) -> None:  # fmt: skip
        """A line through points."""
        way = " L".join(f"{x:.1f} {y:.1f}" for x, y in points)
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self.parts.append(
            f'<path d="M{way}{"Z" if closed else ""}" fill="{fill}" stroke="{self.ink}" '
            f'stroke-width="{width}" stroke-linejoin="round" stroke-linecap="round"{dashed}/>'
        )

    def box(
        self, left: float, top: float, wide: float, tall: float, *, width: float = 1.0,
        dash: str = "", fill: str = "none",
    ) -> None:  # fmt: skip
        """A rectangle."""
        right, foot = left + wide, top + tall
        corners = [(left, top), (right, top), (right, foot), (left, foot)]
        self.line(corners, width=width, dash=dash, fill=fill, closed=True)

    def text(
        self, x: float, y: float, words: str, *, size: float = 13.0, heavy: bool = False,
        anchor: Anchor = "start", over: bool = False,
    ) -> None:  # fmt: skip
        """Words on one line, y at their foot. over: lines that pass behind them are broken."""
        weight = ' font-weight="700"' if heavy else ""
        if over:
            # A bright rim around letters would eat the letters beside them, set one by one.
            long = self.long(words, size=size, heavy=heavy)
            left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * long
            self.parts.append(
                f'<rect x="{left - 2:.1f}" y="{y - 0.85 * size:.1f}" width="{long + 4:.1f}" '
                f'height="{1.15 * size:.1f}" fill="#fff"/>'
            )
        self.parts.append(
            f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="{anchor}"{weight} '
            f'fill="{self.ink}">{escape(plain(words))}</text>'
        )

    def lines(
        self, x: float, y: float, said: Iterable[str], *, size: float = 13.0, heavy: bool = False,
        anchor: Anchor = "start", pitch: float = 1.22,
    ) -> float:  # fmt: skip
        """Words on lines below each other; returns the y after the last."""
        for words in said:
            self.text(x, y, words, size=size, heavy=heavy, anchor=anchor)
            y += size * pitch
        return y

    def long(self, words: str, *, size: float = 13.0, heavy: bool = False) -> float:
        """About how long the words are."""
        return len(words) * self.face.em * size * (1.06 if heavy else 1.0)

    def broken(
        self, words: str, wide: float, *, size: float = 13.0, heavy: bool = False, most: int = 0
    ) -> list[str]:
        """The words on lines no longer than ``wide``; ``most`` lines, the last cut with an …."""
        letters = max(4, int(wide / (self.face.em * size * (1.06 if heavy else 1.0))))
        found = wrap(words, letters, break_on_hyphens=False) or [""]
        if most and len(found) > most:
            found = [*found[: most - 1], f"{found[most - 1][: letters - 1].rstrip(' ,;:·')}…"]
        return found

    def svg(self, wide: float, tall: float, told: str) -> str:
        """The drawing as an SVG text. told: what it shows, for who cannot see it."""
        return (
            f'<svg viewBox="0 0 {wide:.0f} {tall:.0f}" role="img" '
            f'aria-label="{escape(plain(told))}" '
            f'font-family="{escape(self.face.family)}" xmlns="http://www.w3.org/2000/svg">'
            f"{''.join(self.parts)}</svg>"
        )
