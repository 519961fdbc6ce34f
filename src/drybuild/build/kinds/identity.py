"""Which car it is: what stands on it and in its papers, and photographs that tie the book to it.

No formula asks for any of it; the book of the build prints it.
"""

from __future__ import annotations

from pathlib import PurePath
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field

from drybuild.build.kinds.fastening import Word
from drybuild.build.model import Model, Part, Section, fact
from drybuild.values.types import Distance

PICTURES = (".jpg", ".jpeg", ".png")


def _name_of_picture(name: str) -> str:
    if "/" in name or "\\" in name or name.startswith("."):
        raise ValueError("found a path; expected the name of a file in the folder photos/")
    if PurePath(name).suffix.lower() not in PICTURES:
        raise ValueError(f"found {name!r}; expected a picture: {', '.join(PICTURES)}")
    return name


PictureName = Annotated[str, Field(min_length=5, max_length=120), AfterValidator(_name_of_picture)]


def _four_figures(code: Any) -> Any:
    """A code typed as a number lost its leading nought."""
    return f"{code:04d}" if isinstance(code, int) and not isinstance(code, bool) else code


def _week_and_year(code: str) -> str:
    plain = code.strip()
    if len(plain) != 4 or not plain.isdecimal() or not 1 <= int(plain[:2]) <= 53:
        raise ValueError(
            f"found {code!r}; expected four figures, week and year, such as 2523, week 25 of 2023"
        )
    return plain


DateCode = Annotated[str, BeforeValidator(_four_figures), AfterValidator(_week_and_year)]


class Photograph(Model):
    """A photograph that ties the book to the car: chassis number, plate, a part's mark."""

    file: PictureName = Field(description="file in the folder photos/: JPEG or PNG")
    shows: Word = Field(description="what is to be seen, e.g. chassis number on the bulkhead")
    taken: Word = Field(default="", description="when, yyyy-mm-dd")
    by: Word = Field(default="", description="by whom")


class Identity(Section):
    """What stands on the car and in its papers, so that a book can be told to be of this car."""

    chassis_number: Word | None = fact(
        "chassis number (VIN) as stamped into the car",
        measure=("eye", 3, "read it off the body itself, then hold the papers beside it"),
    )
    plate: Word | None = fact(
        "registration plate", measure=("eye", 1, "read it off the plate"),
    )  # fmt: skip
    engine_number: Word | None = fact(
        "engine number as stamped into the block",
        measure=("eye", 5, "read it off the block, engine cold"),
    )
    gearbox_number: Word | None = fact("number on the gearbox")
    colour: Word | None = fact("colour of the body")
    odometer: Distance | None = fact(
        "what the odometer shows", catalogue="0 km",
        measure=("dash", 1, "read it off the dash, ignition on"),
    )
    called: Word | None = fact(
        "what car it is, in one line: make, model, year, or what you call it",
        plain="car's own name",
    )
    papers: tuple[Word, ...] | None = fact(
        "papers of the car: kind, number, issued by whom and when"
    )
    body_work: tuple[Word, ...] | None = fact(
        "what was cut, welded, drilled or rolled on body and structure, each with its document; "
        "an empty list says that nothing was"
    )


PLACES: tuple[Part, ...] = ()
SECTIONS: dict[str, type[Section]] = {"identity": Identity}
