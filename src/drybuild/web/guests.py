"""Who may do what: the machine itself, and devices that were let in by a one-time code.

A device gets a session of its own, with a role, that can be taken back and that ends when nobody
used it for half a day. Nothing is kept on the disk: when the app stops, every device is out.
"""

from __future__ import annotations

import hmac
import secrets
import threading
import time
from collections import OrderedDict
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Literal
from unicodedata import category

Role = Literal["look", "cards", "edit"]
"""look: read only; cards: work through cards and write readings; edit: everything."""

MAY = {"look": 0, "cards": 1, "edit": 2}

CODE_LASTS = timedelta(minutes=5)
UNUSED = timedelta(hours=12)
"""After so long without a request a device's session is over."""
TRIES = 10
"""Wrong codes after which no code works until a new one is made at the machine."""
MOST_HERE = 200
"""Browsers of this machine that are known at once; a further one takes the place of the oldest."""
MOST_AWAY = 60
"""Devices that are let in at once."""


@dataclass(frozen=True, slots=True)
class Guest:
    """One browser. token: what its cookie holds; local: on the machine itself."""

    token: str
    name: str
    role: Role
    local: bool
    since: datetime

    def may(self, wanted: Role) -> bool:
        """Whether its role reaches that far."""
        return MAY[self.role] >= MAY[wanted]

    @property
    def mark(self) -> str:
        """What it is called where one takes its session back; tells nothing of the token."""
        return sha256(self.token.encode()).hexdigest()[:10]


@dataclass(frozen=True, slots=True)
class Code:
    """A pairing code that lets one device in, once, for a few minutes. until: of ``monotonic``."""

    digits: str
    role: Role
    until: float


def _as_made(typed: str) -> str:
    """A code as it was made, of one with the gaps or dashes that it is shown or written with."""
    return "".join(c for c in typed.casefold() if not c.isspace() and category(c) != "Pd")


class Guests:
    """Every session of the running app."""

    def __init__(self) -> None:
        self._secret = secrets.token_bytes(32)
        self._lock = threading.Lock()
        self._guests: OrderedDict[str, Guest] = OrderedDict()
        self._used: dict[str, float] = {}
        self._code: Code | None = None
        self._tries = 0

    def known(self, token: str | None) -> Guest | None:
        """The guest of a cookie, if its session stands; the session counts as used by that."""
        with self._lock:
            guest = self._standing(token or "")
            if guest is not None:
                self._used[guest.token] = time.monotonic()
            return guest

    def stands(self, guest: Guest) -> bool:
        """Whether a session was neither taken back nor forgotten."""
        with self._lock:
            return self._standing(guest.token) is not None

    def here(self, brought: str = "") -> Guest:
        """A new session for a browser on the machine itself.

        brought: the cookie of a session that is not known, as after a new start of the app. What
        comes with the same one, at once from several tabs, gets the same session: the cookie that
        such a browser keeps is then the one that its forms were made for.
        """
        token = ""
        if brought:
            told = b"session of " + brought[:200].encode("utf-8", "replace")
            token = hmac.new(self._secret, told, sha256).hexdigest()
        return self._let_in("this machine", "edit", local=True, token=token)

    def offer(self, role: Role) -> Code:
        """A new code; an earlier one no longer works."""
        with self._lock:
            digits = f"{secrets.randbelow(10**8):08d}"
            self._code = Code(digits, role, time.monotonic() + CODE_LASTS.total_seconds())
            self._tries = 0
            return self._code

    def pair(self, digits: str, name: str) -> Guest | None:
        """The session of a device that has the code; None for a wrong, old or used one."""
        with self._lock:
            code = self._code
            if code is None or time.monotonic() > code.until or self._tries >= TRIES:
                return None
            typed = _as_made(digits)
            if not hmac.compare_digest(typed.encode("utf-8", "replace"), code.digits.encode()):
                self._tries += 1
                return None
            if sum(not g.local for g in self._guests.values()) >= MOST_AWAY:
                return None
            self._code = None
        return self._let_in(name.strip()[:40] or "a device", code.role, local=False)

    def all(self) -> tuple[Guest, ...]:
        """Devices that were let in, oldest first."""
        with self._lock:
            away = [t for t, g in self._guests.items() if not g.local]
            return tuple(g for t in away if (g := self._standing(t)) is not None)

    def revoke(self, mark: str) -> bool:
        """End the session with this mark. Whether there was one."""
        with self._lock:
            gone = [t for t, g in self._guests.items() if g.mark == mark and not g.local]
            for token in gone:
                self._forget(token)
            return bool(gone)

    def form_token(self, guest: Guest) -> str:
        """What a form of this guest must bring back; useless to anybody else."""
        return hmac.new(self._secret, guest.token.encode(), sha256).hexdigest()

    def _standing(self, token: str) -> Guest | None:
        guest = self._guests.get(token)
        if guest is None or guest.local:
            return guest
        if time.monotonic() - self._used[token] > UNUSED.total_seconds():
            self._forget(token)
            return None
        return guest

    def _forget(self, token: str) -> None:
        del self._guests[token], self._used[token]

    def _let_in(self, name: str, role: Role, *, local: bool, token: str = "") -> Guest:
        guest = Guest(token or secrets.token_urlsafe(32), name, role, local, datetime.now())
        with self._lock:
            if guest.token in self._guests:
                return self._guests[guest.token]
            here = [t for t, g in self._guests.items() if g.local]
            if local and len(here) >= MOST_HERE:
                self._forget(min(here, key=self._used.__getitem__))
            self._guests[guest.token] = guest
            self._used[guest.token] = time.monotonic()
        return guest
