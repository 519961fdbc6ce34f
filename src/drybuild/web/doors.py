"""The app's doors: a plain one on this machine, and one for the local network.

A connection on which no whole request arrives is closed, and one device holds so many and no more,
so that nobody on the network keeps the owner out.
"""

from __future__ import annotations

import asyncio
import contextlib
import ssl
from collections.abc import Generator
from pathlib import Path
from socket import socket

import uvicorn
from starlette.types import ASGIApp
from uvicorn.protocols.http.h11_impl import H11Protocol

from drybuild.web.guard import LOOPBACK

HEAD_WITHIN = 10.0
"""Seconds in which the head of a request must have arrived."""
MOST_OF_ONE = 40
MOST_OF_ALL = 300
"""Connections of one device, and of all devices together; this machine's own are not counted."""
KEPT_OPEN = 90
"""Seconds that a connection stays open between two requests, so that a form is hardly ever sent
into a door that is just being shut.
"""
GOODBYE = 2
"""Seconds that an answer may still take when the app stops."""


class Door(H11Protocol):
    """One connection."""

    _head_due: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        if self._crowded():
            transport.abort()
            return
        self._await_head()

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        if self._answering():
            self._arrived()
        elif self._head_due is None:
            self._await_head()

    def connection_lost(self, exc: Exception | None) -> None:
        self._arrived()
        super().connection_lost(exc)

    def _crowded(self) -> bool:
        here = self._device()
        if here in LOOPBACK:
            return False
        others = [door._device() for door in self.connections if isinstance(door, Door)]
        away = [device for device in others if device not in LOOPBACK]
        return away.count(here) > MOST_OF_ONE or len(away) > MOST_OF_ALL

    def _device(self) -> str:
        return self.client[0] if self.client else ""

    def _answering(self) -> bool:
        return self.cycle is not None and not self.cycle.response_complete

    def _await_head(self) -> None:
        self._head_due = self.loop.call_later(HEAD_WITHIN, self._overdue)

    def _arrived(self) -> None:
        if self._head_due is not None:
            self._head_due.cancel()
            self._head_due = None

    def _overdue(self) -> None:
        self._head_due = None
        if not self._answering():
            self.transport.abort()


class _Beside(uvicorn.Server):
    """A server that leaves signals to the one beside it."""

    @contextlib.contextmanager
    def capture_signals(self) -> Generator[None, None, None]:
        yield


def run(
    app: ASGIApp,
    doors: list[socket],
    *,
    sealed: list[socket] | None = None,
    key: Path | None = None,
) -> None:
    """Serve on the doors until stopped. sealed: doors with the certificate at ``key``."""
    asyncio.run(_run(app, doors, sealed or [], key))


async def _run(app: ASGIApp, doors: list[socket], sealed: list[socket], key: Path | None) -> None:
    server = uvicorn.Server(_config(app))
    beside: asyncio.Task[None] | None = None
    other = None
    if key is not None:
        other = _Beside(_config(app, seal_with=key))
        beside = asyncio.create_task(other.serve(sockets=sealed))
    try:
        await server.serve(sockets=doors)
    finally:
        if other is not None and beside is not None:
            other.should_exit = True
            with contextlib.suppress(asyncio.CancelledError):
                await beside


def _config(app: ASGIApp, seal_with: Path | None = None) -> uvicorn.Config:
    config = uvicorn.Config(
        app, http=Door, log_level="warning", server_header=False, date_header=False,
        proxy_headers=False,  # nobody tells us who asks but the connection itself
        timeout_graceful_shutdown=GOODBYE, timeout_keep_alive=KEPT_OPEN,
        lifespan="off" if seal_with else "auto",
    )  # fmt: skip
    config.load()
    if seal_with is not None:
        config.ssl = sealing(seal_with)
    return config


def sealing(path: Path) -> ssl.SSLContext:
    """What encrypts with this key and certificate."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    context.load_cert_chain(path)
    return context
