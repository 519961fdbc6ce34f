"""Photographs as the book takes them: judged by their own bytes, without where they were taken.

A camera writes the place, its owner and its number into a JPEG; a book is handed to strangers. All
of that is left out. What says which way up it is stays. Formats: ISO/IEC 10918-1 (JPEG) with
Exif (CIPA DC-008), ISO/IEC 15948 (PNG).
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

PNG = b"\x89PNG\r\n\x1a\n"
_PNG_KEPT = {b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"sRGB", b"cHRM", b"iCCP"}
_STANDALONE = {0x01, *range(0xD0, 0xD8)}
_FRAMES = {0xC0, 0xC1, 0xC2}
_KEPT_APPS = {0xE0, 0xE2, 0xEE}  # JFIF, colour profile, colour transform
_ORIENTATION = 0x0112
MOST_ACROSS = 12_000


class NoPicture(ValueError):
    """The bytes are no whole JPEG or PNG; the text says what is amiss."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture to print. form: jpg or png; data: without place, owner or camera."""

    form: str
    data: bytes
    wide: int
    tall: int


def picture(data: bytes) -> Picture:
    """The bytes of a file as a picture. Raises NoPicture."""
    if data.startswith(PNG):
        return _png(data)
    if data.startswith(b"\xff\xd8"):
        return _jpeg(data)
    raise NoPicture("it is neither a JPEG nor a PNG")


def _sized(form: str, data: bytes, wide: int, tall: int) -> Picture:
    if not (0 < wide <= MOST_ACROSS and 0 < tall <= MOST_ACROSS):
        raise NoPicture(f"found {wide} by {tall} points; at most {MOST_ACROSS} either way")
    return Picture(form, data, wide, tall)


def _png(data: bytes) -> Picture:
    kept, at, size, ended = [PNG], len(PNG), (0, 0), False
    while at + 12 <= len(data) and not ended:
        length, kind = struct.unpack(">I4s", data[at : at + 8])
        whole = data[at : at + 12 + length]
        if len(whole) < 12 + length:
            raise NoPicture("it is cut short")
        if kind == b"IHDR" and length >= 8:
            size = struct.unpack(">II", whole[8:16])
        if kind in _PNG_KEPT:
            kept.append(whole)
        ended = kind == b"IEND"
        at += 12 + length
    if not ended:
        raise NoPicture("it is cut short")
    return _sized("png", b"".join(kept), *size)


def _jpeg(data: bytes) -> Picture:
    kept, at, size, turned = [b"\xff\xd8"], 2, (0, 0), 1
    while True:
        if at + 4 > len(data) or data[at] != 0xFF:
            raise NoPicture("it is cut short, or no JPEG inside")
        marker = data[at + 1]
        if marker == 0xFF:  # padding
            at += 1
            continue
        if marker in _STANDALONE:
            at += 2
            continue
        length = int.from_bytes(data[at + 2 : at + 4], "big")
        segment = data[at : at + 2 + length]
        if length < 2 or len(segment) < 2 + length:
            raise NoPicture("it is cut short")
        if marker in _FRAMES and length >= 7:
            tall, wide = struct.unpack(">HH", segment[5:9])
            size = (wide, tall)
        if marker == 0xE1:
            turned = _orientation(segment[4:]) or turned
        if marker == 0xDA:
            break
        if (not 0xE0 <= marker <= 0xEF and marker != 0xFE) or marker in _KEPT_APPS:
            kept.append(segment)
        at += 2 + length
    end = data.rfind(b"\xff\xd9")
    if end < at:
        raise NoPicture("it is cut short")
    if turned != 1:
        kept.insert(1, _only_orientation(turned))
    return _sized("jpg", b"".join([*kept, data[at : end + 2]]), *size)


def _orientation(exif: bytes) -> int:
    """Which way up, of an Exif block; 0 where it does not say."""
    if not exif.startswith(b"Exif\0\0"):
        return 0
    tiff = exif[6:]
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    if order is None or len(tiff) < 8:
        return 0
    (start,) = struct.unpack(order + "I", tiff[4:8])
    if start + 2 > len(tiff):
        return 0
    (count,) = struct.unpack(order + "H", tiff[start : start + 2])
    for n in range(min(count, 200)):
        entry = tiff[start + 2 + 12 * n : start + 14 + 12 * n]
        if len(entry) < 12:
            return 0
        tag, _, _, value = struct.unpack(order + "HHIH", entry[:10])
        if tag == _ORIENTATION:
            return int(value) if 1 <= value <= 8 else 0
    return 0


def _only_orientation(turned: int) -> bytes:
    """An Exif block that says which way up, and nothing else."""
    entry = struct.pack(">HHIHH", _ORIENTATION, 3, 1, turned, 0)
    tiff = b"MM\0*" + struct.pack(">I", 8) + struct.pack(">H", 1) + entry + struct.pack(">I", 0)
    body = b"Exif\0\0" + tiff
    return b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body
