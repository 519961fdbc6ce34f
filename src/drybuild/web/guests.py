"""Who may do what: the machine itself, and devices that were let in by a one-time code.

A device gets a session of its own, with a role, that can be taken back. Nothing is kept on the
disk: when the app stops, every device is out.
"""

from __future__ import annotations

import hmac
import secrets
import threading
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Literal

Role = Literal["look", "cards", "edit"]
"""look: read only; cards: work through cards and write readings; edit: everything."""

MAY = {"look": 0, "cards": 1, "edit": 2}

CODE_LASTS = timedelta(minutes=5)
TRIES = 10
"""Wrong codes after which no code works until a new one is made at the machine."""


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
    """A pairing code that lets one device in, once, for a few minutes."""

    digits: str
    role: Role
    until: datetime


class Guests:
    """Every session of the running app."""

    def __init__(self) -> None:
        self._secret = secrets.token_bytes(32)
        self._lock = threading.Lock()
        self._guests: dict[str, Guest] = {}
        self._code: Code | None = None
        self._tries = 0

    def known(self, token: str | None) -> Guest | None:
        """The guest of a cookie, if its session stands."""
        return self._guests.get(token or "")

    def here(self) -> Guest:
        """A new session for a browser on the machine itself."""
        return self._let_in("this machine", "edit", local=True)

    def offer(self, role: Role) -> Code:
        """A new code; an earlier one no longer works."""
        with self._lock:
            digits = f"{secrets.randbelow(10**8):08d}"
            self._code = Code(digits, role, datetime.now() + CODE_LASTS)
            self._tries = 0
            return self._code

    def pair(self, digits: str, name: str) -> Guest | None:
        """The session of a device that has the code; None for a wrong, old or used one."""
        with self._lock:
            code = self._code
            if code is None or datetime.now() > code.until or self._tries >= TRIES:
                return None
            if not hmac.compare_digest(digits.encode(), code.digits.encode()):
                self._tries += 1
                return None
            self._code = None
        return self._let_in(name.strip()[:40] or "a device", code.role, local=False)

    def all(self) -> tuple[Guest, ...]:
        """Devices that were let in, oldest first."""
        return tuple(g for g in self._guests.values() if not g.local)

    def revoke(self, mark: str) -> bool:
        """End the session with this mark. Whether there was one."""
        with self._lock:
            gone = [t for t, g in self._guests.items() if g.mark == mark and not g.local]
            for token in gone:
                del self._guests[token]
            return bool(gone)

    def rename(self, guest: Guest, role: Role) -> None:
        """Give a device another role."""
        with self._lock:
            if guest.token in self._guests:
                self._guests[guest.token] = replace(guest, role=role)

    def form_token(self, guest: Guest) -> str:
        """What a form of this guest must bring back; useless to anybody else."""
        return hmac.new(self._secret, guest.token.encode(), sha256).hexdigest()

    def _let_in(self, name: str, role: Role, *, local: bool) -> Guest:
        guest = Guest(secrets.token_urlsafe(32), name, role, local, datetime.now())
        with self._lock:
            self._guests[guest.token] = guest
        return guest
