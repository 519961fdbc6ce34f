"""What a worker does with a photograph: decode it, and make it anew without all that came with it.

Only the points go on: place, camera, owner, comments and whatever else lay in or behind the file
stay out. It is turned the right way up first. Nothing here writes.
"""

from __future__ import annotations

import base64
import io
import struct
import zlib

from PIL import Image, ImageOps

MOST_POINTS = 60_000_000
LONG_SIDE, SMALL_SIDE = 1600, 320
MOST_MADE = 1_200_000
"""Bytes of the picture that is kept."""
QUALITIES = (85, 75, 60, 45, 30)
FORMS = ("JPEG", "PNG")
LEAST_SIDE = 16
TOO_MANY = f"It has more than {MOST_POINTS // 1_000_000} million points."
NONE = "It is no whole JPEG or PNG."
UNREADABLE = (
    OSError, SyntaxError, ValueError, TypeError, EOFError, OverflowError, KeyError, IndexError,
    struct.error, zlib.error,
)  # fmt: skip
"""What a decoder says of bytes that are no picture."""


def photograph(data: bytes) -> str:
    """The picture as a JPEG of ours, in base64. Raises ValueError in plain words."""
    return base64.b64encode(_made(_decoded(data), LONG_SIDE)).decode()


def small(data: bytes) -> bytes:
    """A small one of a picture that was made here."""
    return _made(_decoded(data, SMALL_SIDE, ("JPEG",)), SMALL_SIDE)


def _decoded(data: bytes, side: int = LONG_SIDE, forms: tuple[str, ...] = FORMS) -> Image.Image:
    try:
        found = Image.open(io.BytesIO(data), formats=forms)
        wide, tall = found.size
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise ValueError(TOO_MANY) from None
    except UNREADABLE:
        raise ValueError(NONE) from None
    if wide * tall > MOST_POINTS:  # nothing is decoded yet
        raise ValueError(TOO_MANY)
    if min(wide, tall) < LEAST_SIDE:
        raise ValueError(f"It has {wide} by {tall} points: nothing is to be seen on it.")
    try:
        found.draft("RGB", (side, side))  # a JPEG is decoded no larger than is wanted
        found.load()
        turned = ImageOps.exif_transpose(found)
    except UNREADABLE:
        raise ValueError(NONE) from None
    return _on_white(turned)


def _on_white(found: Image.Image) -> Image.Image:
    """As colours; what is clear becomes white."""
    if "A" in found.getbands() or "transparency" in found.info:
        found = found.convert("RGBA")
        white = Image.new("RGBA", found.size, "white")
        return Image.alpha_composite(white, found).convert("RGB")
    return found.convert("RGB")


def _made(whole: Image.Image, side: int) -> bytes:
    whole.thumbnail((side, side))
    clean = Image.new("RGB", whole.size)
    clean.paste(whole)
    for quality in QUALITIES:
        out = io.BytesIO()
        clean.save(out, "JPEG", quality=quality)
        if out.tell() <= MOST_MADE:
            return out.getvalue()
    raise ValueError("It does not become small enough to keep.")
