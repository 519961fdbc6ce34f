"""The pages, a module each: a page asks the desk and fills a template; it computes nothing."""

from drybuild.web.pages import (
    book,
    corner,
    devices,
    drafts,
    engine,
    home,
    measure,
    parts,
    records,
    setting,
    start,
    taking_in,
    work,
    work_cards,
    work_cost,
    work_doing,
    work_session,
    workings,
)

PAGES = (
    home,
    book,
    corner,
    engine,
    drafts,
    devices,
    measure,
    records,
    parts,
    setting,
    start,
    taking_in,
    workings,
    work,
    work_cards,
    work_cost,
    work_doing,
    work_session,
)
"""Every module with a ``router``; a new page is one module and one name here."""
