"""The name that a browser writes under, remembered in a cookie, so that it is typed once."""

from __future__ import annotations

from urllib.parse import quote, unquote

from fastapi import Request, Response

COOKIE = "drybuild-who"
LASTS = 90 * 24 * 3600
LONGEST = 60


def remembered(request: Request) -> str:
    """The name last used here, or nothing."""
    return unquote(request.cookies.get(COOKIE, ""))[:LONGEST]


def remember(answer: Response, who: str) -> None:
    """Keep a name for the next form."""
    answer.set_cookie(
        COOKIE, quote(who.strip()[:LONGEST]), max_age=LASTS, httponly=True, samesite="strict"
    )
