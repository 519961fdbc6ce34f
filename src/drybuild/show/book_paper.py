"""The build book as a PDF to keep."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from drybuild.examine.book import Book
from drybuild.examine.photographs import NotKept, photograph_bytes
from drybuild.show.book import contents
from drybuild.show.cards_words import fingerprint_text
from drybuild.show.photographs import NoPicture, picture
from drybuild.show.typeset import PaperRefused, can_set, plain_words, pngs, to_file
from drybuild.values import System

TEMPLATE = "book.typ"


def write_book(path: Path, book: Book, *, system: System = "metric") -> str:
    """Write the PDF; returns what must be said of it, or nothing.

    Raises PaperExtraMissing without the typesetting library, PaperRefused when it refuses.
    """
    content, pictures = set_with_pictures(book, system)
    made = book.imprint.made
    try:
        return to_file(path, TEMPLATE, plain_words(content), made=made, pictures=pictures)
    except PaperRefused:
        left = _without_unreadable(content, pictures)
        if len(left) == len(pictures):
            raise
    return to_file(path, TEMPLATE, plain_words(content), made=made, pictures=left)


def _without_unreadable(content: dict[str, Any], pictures: Mapping[str, bytes]) -> dict[str, bytes]:
    """The pictures that the typesetter can read; of the others the content says that it cannot."""
    left = {name: data for name, data in pictures.items() if can_set(name, data)}
    for one in content["photographs"]:
        if one["image"] and one["image"] not in left:
            said = f"photos/{one['file']} cannot be shown: the typesetter cannot read it"
            one |= {"image": "", "fault": said}
    return left


def book_pages(book: Book, *, system: System = "metric", resolution: float = 80.0) -> list[bytes]:
    """Each page as a PNG, to be looked at."""
    content, pictures = set_with_pictures(book, system)
    return pngs(TEMPLATE, content, made=book.imprint.made, pictures=pictures, resolution=resolution)


def set_with_pictures(book: Book, system: System) -> tuple[dict[str, Any], Mapping[str, bytes]]:
    """The content, and the photographs that it names."""
    content = contents(book, system)
    pictures: dict[str, bytes] = {}
    root = book.examination.state.build.root
    for number, one in enumerate(content["photographs"]):
        named = book.photographs[number]
        file = named.file
        name, fault, data = "", "", b""
        try:
            data = photograph_bytes(root, named)
            found = picture(data)
            name = f"photograph-{number}.{found.form}"
            pictures[name] = found.data
        except (OSError, NoPicture, NotKept) as error:
            fault = f"photos/{file} cannot be shown: {error}"
        one |= {"image": name, "fault": fault}
        one["hash"] = fingerprint_text(hashlib.sha256(data).hexdigest())
    return content, pictures
