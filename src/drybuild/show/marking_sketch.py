"""What stands on a tyre and on a wheel, taken apart: each figure with a line to what it means."""

from __future__ import annotations

from drybuild.show.drawing import SCREEN, Drawing

WIDE = 360.0
BIG, SIZE = 28.0, 16.5
FOOT, ROW = 52.0, 32.0

TYRE = (
    ("225", "width, mm"), ("/45", "height, % of the width"), (" R17", "rim"),
    (" 91W", "load, speed"),
)  # fmt: skip
WHEEL = (("8J", "rim width, inch"), ("x17", "rim"), (" ET35", "offset, mm"))


def draw_marking(of: str) -> str:
    """The sketch of ``tyre`` or ``wheel`` as SVG."""
    pieces = TYRE if of == "tyre" else WHEEL
    drawing = Drawing(SCREEN, ink="currentColor")
    whole = "".join(piece for piece, _ in pieces)
    step = BIG * 0.62
    x = 14.0
    for number, (piece, meaning) in enumerate(pieces):
        shown = piece.strip()
        x += step * 0.5 * (len(piece) - len(shown))
        long = step * len(shown)
        drawing.parts.append(
            f'<text x="{x:.1f}" y="{FOOT - 16:.0f}" font-size="{BIG:g}" font-weight="700" '
            f'textLength="{long:.1f}" lengthAdjust="spacingAndGlyphs" fill="{drawing.ink}">'
            f"{shown}</text>"
        )
        middle, y = x + long / 2, FOOT + 30 + ROW * (len(pieces) - 1 - number)
        drawing.line([(x + 2, FOOT - 8), (x + long - 2, FOOT - 8)], width=1.6)
        drawing.line([(middle, FOOT - 8), (middle, y - 5), (middle + 12, y - 5)], width=0.9)
        drawing.text(middle + 17, y, meaning, size=SIZE)
        x += long
    told = "; ".join(f"{piece.strip()}: {meaning}" for piece, meaning in pieces)
    return drawing.svg(WIDE, FOOT + 14 + ROW * len(pieces), f"{whole}. {told}")
