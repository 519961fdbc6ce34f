"""What every page stands in: the build, the state asked for, who asks, and the template."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any

from fastapi import HTTPException, Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, PackageLoader, StrictUndefined

from drybuild.build import UnknownName
from drybuild.build.folder import Session
from drybuild.examine import Examination, OpenBuild
from drybuild.journal import planned_by_hand
from drybuild.show.cards_words import short_day
from drybuild.show.sentences import joint_words
from drybuild.web.desk import Desk, Sight
from drybuild.web.drafts import drafts
from drybuild.web.guests import Guest, Guests, Role
from drybuild.web.navigation import IN_SIGHT, MORE, links


@dataclass(frozen=True)
class Frame:
    """One request: which build, in which state, asked by whom.

    held: the build as it stood when a form came; a page sees its build by its desk alone.
    """

    request: Request
    desk: Desk
    held: OpenBuild | None
    state: str
    guest: Guest
    guests: Guests

    @property
    def opened(self) -> OpenBuild:
        """The build. Raises BuildFaults, ChangeRefused, JournalProblem."""
        return self.held if self.held is not None else self.desk.opened()

    @property
    def folder(self) -> str:
        """The folder's own name; the way to it is nobody's business."""
        return self.desk.folder.name

    def examination(self) -> Examination:
        """The examination of the state asked for."""
        try:
            return self.desk.examination(self.state)
        except UnknownName as error:
            raise HTTPException(404, str(error)) from None

    def in_time(self) -> Examination | None:
        """The same where it is soon there: what a page can do without is not waited for long."""
        return self.desk.in_time() if self.state == "finished" else self.examination()

    def page(self, template: str, status: int = 200, **content: Any) -> HTMLResponse:
        """A whole page."""
        return HTMLResponse(self.fragment(template, **content), status)

    def fragment(self, template: str, **content: Any) -> str:
        """A template filled, with what every page needs."""
        head = self.opened.build.head
        return environment().get_template(template).render(
            name=head.name,
            scenario=head.scenario,
            state=self.state,
            states=states(self.opened, self.desk),
            navigation=links(IN_SIGHT, self.request.url.path),
            more=links(MORE, self.request.url.path),
            path=self.request.url.path,
            token=self.guests.form_token(self.guest),
            guest=self.guest,
            stamp=self.desk.stamp(),
            behind=isinstance(self.desk, Sight) and self.desk.behind,
            lacking=isinstance(self.desk, Sight) and self.desk.lacking,
            fingerprint=self.opened.build.inputs_hash,
            **content,
        )  # fmt: skip


REACH = {
    "look": "this device may look, and not change anything",
    "cards": "this device may work through cards and write readings; drafts and the build itself "
    "want one let in to edit",
    "edit": "",
}
"""How far a role reaches, said where it does not."""


def framed(request: Request, state: str = "finished", *, role: Role = "look") -> Frame:
    """The frame of a request. Raises HTTPException when the guest's role does not reach."""
    guest: Guest = request.state.guest
    if not guest.may(role):
        raise HTTPException(403, REACH[guest.role])
    desk: Desk = request.app.state.desk
    if request.method in ("GET", "HEAD"):
        sight = Sight(desk, desk.seen_from(guest.token))
        return Frame(request, sight, None, state, guest, request.state.guests)
    desk.writes(guest.token)
    return Frame(request, desk, desk.opened(), state, guest, request.state.guests)


def states(opened: OpenBuild, desk: Desk) -> list[tuple[str, str]]:
    """States one may ask for, with their words: after a work session where the build's file says
    what is done in it. What a plan says of a day is on the page of the work."""
    known = planned_by_hand(opened.build)
    sessions = [
        (f"after:{s.id}", f"after {_day(s)}") for s in opened.build.sessions if s.id in known
    ]
    tried = [(f"draft:{d.name}", f"draft: {d.title}") for d in drafts(desk.folder)]
    return [("now", "as it stands now"), ("finished", "when all is done"), *sessions, *tried]


def _day(session: Session) -> str:
    """A work session by its day and the name that the build has for it."""
    try:
        return f"{short_day(datetime.fromisoformat(session.date))} ({session.id})"
    except ValueError:  # the work says what is wrong with it
        return session.id


@cache
def environment() -> Environment:
    """The templates; everything put into them is escaped unless a page says that it is drawn."""
    made = Environment(
        loader=PackageLoader("drybuild.web"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    made.filters["capitalize"] = sentence
    made.globals["joint_words"] = joint_words
    return made


def sentence(words: str) -> str:
    """Words with a large first letter; every other stays as it is: N/mm, ET40, Ilse."""
    return words[:1].upper() + words[1:]
