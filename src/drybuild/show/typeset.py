"""The typesetter: words as data and a template become a PDF to keep, or pictures to look at.

Every word reaches the template as data, none as markup, so that nobody's words can set anything.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory
from textwrap import wrap
from typing import Any, Literal

from drybuild.show.drawing import plain

STANDARDS: list[Any] = ["a-2a", "ua-1"]
"""PDF/A-2a (ISO 19005-2) to be kept, PDF/UA-1 (ISO 14289-1) to be read aloud."""

LETTERS = 24
"""Letters of one word after which it may be broken: a column holds about twice as many."""

_LONG = re.compile(rf"\S{{{LETTERS + 1},}}")


class PaperExtraMissing(Exception):
    """The typesetting library is not installed; the text says what to install."""


class PaperRefused(Exception):
    """The typesetter refused the page; the text says why."""


class SignMissing(PaperRefused):
    """The letters that come along lack a sign that a text uses."""


NOT_TO_KEEP = (
    "some signs are not in the letters that come along: this file is plain PDF, not the kind made "
    "to be kept (PDF/A), and such a sign may be an empty box"
)


def to_file(
    path: Path, template: str, content: dict[str, Any], *, made: datetime,
    pictures: Mapping[str, bytes] | None = None,
) -> str:  # fmt: skip
    """Write the pages as a PDF; returns what must be said of it, or nothing.

    Raises PaperExtraMissing without the typesetting library, PaperRefused when it refuses.
    """
    note = ""
    try:
        found = pdf(template, content, made=made, pictures=pictures)
    except SignMissing:
        found = pdf(template, content, made=made, pictures=pictures, keep=False)
        note = NOT_TO_KEEP
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(found)
    return note


def pdf(
    template: str, content: dict[str, Any], *, made: datetime,
    pictures: Mapping[str, bytes] | None = None, keep: bool = True,
) -> bytes:  # fmt: skip
    """The pages as a PDF; keep: as PDF/A and PDF/UA, with the letters that come along only.

    template: a file among the templates; pictures: name → bytes, which the template names.
    Raises SignMissing when those letters lack a sign.
    """
    asked = {"pdf_standards": STANDARDS} if keep else {}
    return _compiled(template, content, made, "pdf", pictures or {}, own_letters=keep, **asked)[0]


def pages_in(path: Path) -> int:
    """How many pages a PDF has that was written here; 0 where it does not say."""
    found = re.search(rb"/Type */Pages */Count (\d+)", path.read_bytes())
    return int(found[1]) if found else 0


def pngs(
    template: str, content: dict[str, Any], *, made: datetime,
    pictures: Mapping[str, bytes] | None = None, resolution: float = 110.0,
) -> list[bytes]:  # fmt: skip
    """Each page as a PNG of so many dots an inch, to be looked at."""
    return _compiled(
        template, content, made, "png", pictures or {}, own_letters=True, ppi=resolution
    )


def can_set(name: str, data: bytes) -> bool:
    """Whether the typesetter can read a picture."""
    try:
        content = {"name": name}
        _compiled("picture.typ", content, datetime(2000, 1, 1), "pdf", {name: data},
                  own_letters=True)  # fmt: skip
    except PaperRefused:
        return False
    return True


def _compiled(
    template: str,
    content: dict[str, Any],
    made: datetime,
    form: Literal["pdf", "png"],
    pictures: Mapping[str, bytes],
    *,
    own_letters: bool,
    **asked: Any,
) -> list[bytes]:
    try:
        import typst
    except ImportError:
        raise PaperExtraMissing(
            'paper needs its typesetting library: pip install "drybuild[paper]"'
        ) from None
    with TemporaryDirectory(prefix="drybuild-paper-") as folder:
        root = Path(folder)
        for entry in files("drybuild.show").joinpath("templates").iterdir():
            if entry.name.endswith(".typ"):
                (root / entry.name).write_bytes(entry.read_bytes())
        for name, data in pictures.items():
            (root / name).write_bytes(data)
        try:
            found = typst.compile(
                str(root / template), root=folder, format=form, timestamp=_stamp(made),
                sys_inputs={"data": json.dumps(content, ensure_ascii=False)},
                font_paths=typst.Fonts(include_system_fonts=not own_letters), **asked,
            )  # fmt: skip
        except typst.TypstError as error:
            said = f"{error.message} {' '.join(error.hints)}".strip()
            if "could not be displayed" in said:
                raise SignMissing(said) from None
            raise PaperRefused(said) from None
    return list(found) if isinstance(found, list) else [found]


def _stamp(made: datetime) -> datetime:
    """The date of the document: to the second, and of a known zone, as the typesetter wants it."""
    plain_moment = made.replace(microsecond=0)
    return plain_moment if plain_moment.tzinfo else plain_moment.replace(tzinfo=UTC)


def plain_words(value: Any) -> Any:
    """Every text on one line, long words with places to break; drawings as they are."""
    if isinstance(value, str):
        return _LONG.sub(lambda word: "\u200b".join(wrap(word[0], LETTERS)), plain(value))
    if isinstance(value, list | tuple):
        return [plain_words(one) for one in value]
    if isinstance(value, dict):
        return {k: v if k == "svg" else plain_words(v) for k, v in value.items()}
    return value
