"""Photographs: taken at a card or for the book, kept in the folder, shown small."""

from __future__ import annotations

import base64
from typing import Annotated, Any

from fastapi import APIRouter, File, Form, HTTPException, Request, UploadFile
from fastapi import Path as InPath
from fastapi.responses import RedirectResponse, Response

from drybuild.examine.photographs import LONGEST, NotKept, keep, kept, photograph_bytes
from drybuild.journal import EntryRefused
from drybuild.web.frame import Frame, framed
from drybuild.web.pages.book import book_page_of
from drybuild.web.pages.work import work_of
from drybuild.web.pages.work_cards import card_of, card_page
from drybuild.web.pages.work_doing import NO_NAME, PLANNED_ANEW
from drybuild.web.photograph_job import small
from drybuild.web.remembered import remember, remembered
from drybuild.web.uploads import Busy, UploadRefused, in_worker

router = APIRouter()

MOST_BYTES = 12_000_000
FIRST = (b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n")
EXPECTED = "expected a JPEG or PNG, as cameras and phones make them"
HEIF_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"mif1", b"msf1", b"avif")
HEIF = (
    "the file is a HEIF picture, as some phones keep them: set the phone's camera to keep JPEG "
    "and take it again, or save this one as JPEG and choose that"
)

Entry = Annotated[int, InPath(ge=1, le=2**40)]
Words = Annotated[str, Form(max_length=200)]

SAID: dict[int | str, dict[str, Any]] = {
    303: {"description": "kept; to the card or the book"},
    403: {"description": "not for this device"},
    404: {"description": "no such card"},
    409: {"description": "not kept: the page says why"},
    413: {"description": "more than a photograph has"},
    503: {"description": "other files are being read"},
}
PICTURE: dict[int | str, dict[str, Any]] = {
    200: {"content": {"image/jpeg": {}}, "description": "the photograph"},
    404: {"description": "no photograph stands in that entry"},
    409: {"description": "it is not there as it was kept"},
}


@router.post("/photographs", status_code=303, responses=SAID)
def take(
    request: Request,
    file: Annotated[UploadFile, File()],
    shows: Words = "",
    other: Words = "",
    who: Annotated[str, Form(max_length=60)] = "",
    card: Annotated[int, Form(ge=0, le=10_000)] = 0,
    mark: Annotated[str, Form(max_length=12)] = "",
) -> Response:
    """Keep a photograph. card: of which card, 0 for one that ties the book to the car.

    other: what is to be seen where it is none of what the page names.
    """
    frame = framed(request, "now", role="cards")
    named = who.strip() or remembered(request).strip()
    words = other.strip() or shows.strip()
    try:
        task = _task(frame, card, mark, named)
        picture = _picture(file.file.read(MOST_BYTES + 1))
        keep(frame.opened, picture, shows=words, who=named, task=task)
    except (UploadRefused, NotKept, EntryRefused) as error:
        return _again(frame, card, str(error), words, named)
    except Busy as error:
        return _again(frame, card, str(error), words, named, status=503)
    except OSError as error:
        said = f"the folder does not take it: {error.strerror}"
        return _again(frame, card, said, words, named)
    answer = RedirectResponse(f"{_page_of(card)}#photographs", 303)
    remember(answer, named)
    return answer


@router.get("/photographs/{entry}.jpg", responses=PICTURE)
def shown(request: Request, entry: Entry, whole: bool = False) -> Response:
    """A photograph by the entry that names it: small, or whole."""
    frame = framed(request, "now")
    found = next((k for k in kept(frame.opened) if k.entry == entry), None)
    if found is None:
        raise HTTPException(404, f"no photograph stands in entry {entry}")
    try:
        data = photograph_bytes(frame.opened.build.root, found)
        seen = data if whole else small(data)
    except (NotKept, ValueError) as error:
        raise HTTPException(409, f"photos/{found.file} cannot be shown: {error}") from None
    except OSError:
        raise HTTPException(409, f"photos/{found.file} is not there any more") from None
    return Response(seen, media_type="image/jpeg")


def _page_of(card: int) -> str:
    return f"/work/cards/{card}" if card else "/book"


def _task(frame: Frame, card: int, mark: str, who: str) -> str:
    """The key of the task that a card's photographs are kept under. Raises NotKept."""
    if not who:
        raise NotKept(NO_NAME)
    if not card:
        return ""
    work = work_of(frame)
    found = card_of(work, card)
    if mark != work.planned.mark:
        raise NotKept(PLANNED_ANEW)
    return next((s.key for s in found.steps if s.kind == "job"), found.steps[0].key)


def _picture(data: bytes) -> bytes:
    """A JPEG of ours that shows the same. Raises UploadRefused, Busy."""
    if not data:
        raise UploadRefused("no photograph was chosen")
    if len(data) > MOST_BYTES:
        raise UploadRefused(f"the photograph has more than {MOST_BYTES:,} bytes")
    if not data.startswith(FIRST):
        heif = data[4:8] == b"ftyp" and data[8:12] in HEIF_BRANDS
        raise UploadRefused(HEIF if heif else f"the file is no JPEG and no PNG; {EXPECTED}")
    return base64.b64decode(in_worker("drybuild.web.photograph_job:photograph", data, {}))


def _again(
    frame: Frame, card: int, refused: str, words: str, who: str, *, status: int = 409
) -> Response:
    """The page that it came from, with what is amiss; the photograph itself is chosen anew."""
    at = "who" if not who else "other" if not 0 < len(words) <= LONGEST else "file"
    if card:
        return card_page(
            frame, card, refused=refused, about="photographs", at=at, typed={"shows": words},
            status=status,
        )  # fmt: skip
    typed = {"shows": words, "who": who}
    return book_page_of(frame, refused=refused, at=at, typed=typed, status=status)
