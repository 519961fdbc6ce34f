"""The pages, a module each: a page asks the desk and fills a template; it computes nothing.

They are read when they are asked for: the first page must not wait for all the others.
"""

from importlib import import_module
from typing import Protocol, cast

from fastapi import APIRouter

FIRST = ("home",)
"""Pages that a server just started may be asked for."""

NAMES = (
    *FIRST,
    "book",
    "corner",
    "cures",
    "engine",
    "drafts",
    "devices",
    "measure",
    "records",
    "parts",
    "setting",
    "start",
    "taking_in",
    "usual",
    "workings",
    "work",
    "photographs",
    "work_cards",
    "work_cost",
    "work_doing",
    "work_happened",
    "work_job",
    "work_session",
    "work_need",
    "work_when",
)
"""Every module with a ``router``; a new page is one module and one name here."""


class PageModule(Protocol):
    """A module of a page."""

    router: APIRouter


def pages(names: tuple[str, ...] = NAMES) -> list[PageModule]:
    """The modules of these pages."""
    return [cast(PageModule, import_module(f"{__name__}.{name}")) for name in names]
