"""The app attacked on the wire: odd heads, slow senders, crowds, and the encrypted door."""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import shutil
import signal
import socket
import ssl
import stat
import sys
import time
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import httpx2 as httpx
import pytest
from forms import token_in
from served import AWAY, EXAMPLE, Served, serving

from drybuild.web.doors import MOST_OF_ONE


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    where = tmp_path_factory.mktemp("wire")
    shutil.copytree(EXAMPLE, where / "plover")
    with serving(
        where / "plover", share=True, certificate=True, within=1.5, keep=where / "keep"
    ) as one:
        yield one


def raw(served: Served, text: bytes, *, source: str = "127.0.0.1", wait: float = 8.0) -> bytes:
    """What the app answers to these bytes, until it closes or falls silent."""
    with socket.create_connection(("127.0.0.1", served.port), 5, (source, 0)) as wire:
        wire.settimeout(wait)
        wire.sendall(text)
        got, until = b"", time.monotonic() + wait
        try:
            while (piece := wire.recv(65536)) and time.monotonic() < until:
                got += piece
        except TimeoutError:
            return got + b"\n(still open)"
        except ConnectionResetError:
            pass
        return got


@pytest.mark.parametrize(
    ("head", "answer"),
    [
        ("GET / HTTP/1.1\r\n", b"400"),
        ("GET / HTTP/1.1\r\nHost: evil.example\r\n", b"421"),
        ("GET / HTTP/1.1\r\nHost: {here}\r\nHost: evil.example\r\n", b"400"),
        ("GET http://evil.example/ HTTP/1.1\r\nHost: evil.example\r\n", b"421"),
        ("GET / HTTP/1.0\r\n", b"421"),
        ("GET / HTTP/1.1\r\nHost: {here}\r\nX: " + "a" * 200_000 + "\r\n", b"400"),
        ("POST / HTTP/1.1\r\nHost: {here}\r\nContent-Length: 5\r\nContent-Length: 6\r\n", b"400"),
        ("POST / HTTP/1.1\r\nHost: {here}\r\nContent-Length: -1\r\n", b"400"),
        ("BREW / HTTP/1.1\r\nHost: {here}\r\nContent-Length: 0\r\n", b"403"),
        ("TRACE / HTTP/1.1\r\nHost: {here}\r\nContent-Length: 0\r\n", b"403"),
    ],
    ids=["nohost", "host", "hosts", "absolute", "old", "long", "lengths", "minus", "brew", "trace"],
)  # fmt: skip
def test_odd_heads_are_refused(served: Served, head: str, answer: bytes) -> None:
    text = head.format(here=f"127.0.0.1:{served.port}") if "{here}" in head else head
    got = raw(served, (text + "Connection: close\r\n\r\n").encode())
    assert got.split(b" ", 2)[1] == answer, got[:200]
    assert httpx.get(f"{served.url}/pair").status_code == 200


def test_an_upgrade_is_not_taken(served: Served) -> None:
    head = (
        f"GET /events HTTP/1.1\r\nHost: 127.0.0.1:{served.port}\r\nUpgrade: websocket\r\n"
        "Connection: Upgrade\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n"
        "Sec-WebSocket-Version: 13\r\n\r\n"
    )
    assert b" 101 " not in raw(served, head.encode(), wait=2.0)


def closes(send: Callable[[], None]) -> bool:
    """Whether the other side ends it while we send a little at a time."""
    try:
        for _ in range(40):
            send()
            time.sleep(0.2)
    except OSError:
        return True
    return False


def test_a_head_that_never_ends_is_closed(served: Served) -> None:
    began = time.monotonic()
    with socket.create_connection(("127.0.0.1", served.port), 5) as wire:
        wire.settimeout(10)
        wire.sendall(b"GET / HTTP/1.1\r\n")
        assert closes(lambda: wire.sendall(b"X-Slow: a\r\n"))
    assert time.monotonic() - began < 6


def test_a_second_head_on_a_kept_line_has_no_more_time(served: Served) -> None:
    with socket.create_connection(("127.0.0.1", served.port), 5) as wire:
        wire.settimeout(10)
        host = f"Host: 127.0.0.1:{served.port}\r\n"
        wire.sendall(f"GET /pair HTTP/1.1\r\n{host}\r\n".encode())
        assert b" 200 " in wire.recv(65536)
        began = time.monotonic()
        assert closes(lambda: wire.sendall(b"G"))
        assert time.monotonic() - began < 6


def cookie_and_token(url: str) -> tuple[str, str]:
    with httpx.Client(base_url=url) as one:
        token = token_in(one.get("/findings", timeout=60).text)
        return "; ".join(f"{k}={v}" for k, v in one.cookies.items()), token


def test_a_body_that_drips_is_given_up(served: Served) -> None:
    cookie, token = cookie_and_token(served.url)
    head = (
        f"POST /records/remark HTTP/1.1\r\nHost: 127.0.0.1:{served.port}\r\nCookie: {cookie}\r\n"
        "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 900\r\n\r\n"
    )
    began, got = time.monotonic(), b""
    with socket.create_connection(("127.0.0.1", served.port), 5) as wire:
        wire.settimeout(0.2)
        wire.sendall(head.encode() + f"token={token}&".encode())
        while time.monotonic() - began < 10:
            try:
                wire.sendall(b"a")
                piece = wire.recv(65536)
            except TimeoutError:
                continue
            except OSError:
                break
            got += piece
            if not piece:
                break
    assert b" 408 " in got.split(b"\r\n")[0], got
    assert time.monotonic() - began < 6


def test_a_body_in_pieces_beyond_the_limit_is_cut_off(served: Served) -> None:
    cookie, _ = cookie_and_token(served.url)
    head = (
        f"POST /set HTTP/1.1\r\nHost: 127.0.0.1:{served.port}\r\nCookie: {cookie}\r\n"
        "Content-Type: application/x-www-form-urlencoded\r\nTransfer-Encoding: chunked\r\n\r\n"
    )
    sent, got = 0, b""
    with socket.create_connection(("127.0.0.1", served.port), 5) as wire:
        wire.settimeout(5)
        wire.sendall(head.encode())
        piece = b"10000\r\n" + b"a" * 65536 + b"\r\n"
        try:
            while sent < 60_000_000:
                wire.sendall(piece)
                sent += len(piece)
        except OSError:
            pass
        try:
            while more := wire.recv(65536):
                got += more
        except OSError:
            pass
    assert sent < 20_000_000
    assert not got or b" 413 " in got.split(b"\r\n")[0]


def test_one_device_does_not_keep_the_owner_out(served: Served) -> None:
    ports = served.port, int(served.sealed.rsplit(":", 1)[1])
    with contextlib.ExitStack() as held:
        for port in ports:
            for _ in range(MOST_OF_ONE + 30):
                wire = socket.create_connection(("127.0.0.1", port), 5, (AWAY, 0))
                held.enter_context(contextlib.closing(wire))
        time.sleep(0.3)
        assert httpx.get(f"{served.url}/pair", timeout=10).status_code == 200
        away = httpx.Client(transport=httpx.HTTPTransport(local_address=AWAY))
        with away, pytest.raises(httpx.HTTPError):
            away.get(f"{served.url}/pair", timeout=5)
    time.sleep(0.3)
    with httpx.Client(transport=httpx.HTTPTransport(local_address=AWAY)) as again:
        assert again.get(f"{served.url}/pair", timeout=5).status_code == 200


# The certificate


def test_the_sealed_door_shakes_hands_and_its_fingerprint_is_the_one_shown(served: Served) -> None:
    pem = ssl.get_server_certificate(("127.0.0.1", int(served.sealed.rsplit(":", 1)[1])))
    trusting = ssl.create_default_context(cadata=pem)
    trusting.verify_flags &= ~getattr(ssl, "VERIFY_X509_STRICT", 0)
    seen = hashlib.sha256(ssl.PEM_cert_to_DER_cert(pem)).hexdigest().upper()
    assert " ".join(re.findall("..", seen)) in served.said
    with httpx.Client(base_url=served.sealed, verify=trusting) as one:
        page = one.get("/devices", timeout=60)
        assert page.status_code == 200
        cookie = page.headers["set-cookie"]
        assert cookie.startswith("__Host-drybuild-")
        assert {"Secure", "HttpOnly", "SameSite=Strict", "Path=/"} <= set(cookie.split("; "))
        made = one.post(
            "/devices/code", data={"token": token_in(page.text), "role": "look"},
            headers={"origin": served.sealed},
        )  # fmt: skip
        assert made.status_code == 200
        shown = re.search(r'class="fingerprint">([0-9A-F\s]+)<', made.text)
        assert shown is not None
        assert "".join(shown[1].split()) == seen
        assert f"{served.sealed}/pair?code=" in made.text
        assert "not encrypted" not in made.text
        assert "This link is encrypted" in one.get("/pair").text
        # The same name on the plain scheme is another page.
        told = {"origin": served.sealed.replace("https", "http")}
        data = {"token": token_in(page.text), "role": "look"}
        assert one.post("/devices/code", data=data, headers=told).status_code == 403
    with pytest.raises(ssl.SSLCertVerificationError):
        ssl.create_default_context().wrap_socket(
            socket.create_connection(("127.0.0.1", int(served.sealed.rsplit(":", 1)[1]))),
            server_hostname="127.0.0.1",
        )


def test_the_sealed_door_speaks_nothing_old_and_nothing_plain(served: Served) -> None:
    port = int(served.sealed.rsplit(":", 1)[1])
    old = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    old.check_hostname, old.verify_mode = False, ssl.CERT_NONE
    with pytest.warns(DeprecationWarning, match="TLS"):
        old.maximum_version = ssl.TLSVersion.TLSv1_1
    with socket.create_connection(("127.0.0.1", port), 5) as wire, pytest.raises(ssl.SSLError):
        old.wrap_socket(wire)
    with socket.create_connection(("127.0.0.1", port), 5) as wire:
        wire.sendall(f"GET /pair HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n".encode())
        with contextlib.suppress(ConnectionError):
            assert b"200" not in wire.recv(1000)


def test_a_cookie_of_the_plain_door_is_no_session_of_the_sealed_one(served: Served) -> None:
    blind = httpx.HTTPTransport(verify=False, local_address=AWAY)
    with httpx.Client(transport=blind) as one:
        cookie, _ = cookie_and_token(served.url)
        port = served.sealed.rsplit(":", 1)[1]
        token = cookie.split("=", 1)[1]
        answer = one.get(f"{served.sealed}/", headers={"cookie": f"drybuild-{port}={token}"})
        assert (answer.status_code, answer.headers["location"]) == (303, "/pair")


def test_the_key_is_for_this_user_and_is_made_anew_when_it_does_not_serve(tmp_path: Path) -> None:
    from drybuild.web import certificate

    place = tmp_path / "keep"
    made = certificate.certificate_for("192.0.2.7", place)
    if os.name != "nt":
        assert stat.S_IMODE(made.path.stat().st_mode) == 0o600
        assert stat.S_IMODE(place.stat().st_mode) == 0o700
    assert certificate.certificate_for("192.0.2.7", place) == made
    other = certificate.certificate_for("192.0.2.8", place)
    assert other.fingerprint != made.fingerprint
    if os.name != "nt":
        other.path.chmod(0o644)
        again = certificate.certificate_for("192.0.2.8", place)
        assert again.fingerprint != other.fingerprint
        assert stat.S_IMODE(again.path.stat().st_mode) == 0o600
        target = tmp_path / "elsewhere.pem"
        again.path.rename(target)
        again.path.symlink_to(target)
        assert certificate.certificate_for("192.0.2.8", place).fingerprint != again.fingerprint
    made.path.write_text("no key")
    made.path.chmod(0o600)
    assert certificate.certificate_for("192.0.2.8", place).until > made.until - timedelta(days=1)


def test_a_certificate_near_its_end_is_made_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from drybuild.web import certificate

    monkeypatch.setattr(certificate, "LASTS", timedelta(days=29))
    monkeypatch.setattr(certificate, "RENEWED", timedelta(days=1))
    old = certificate.certificate_for("192.0.2.7", tmp_path)
    monkeypatch.undo()
    assert certificate.certificate_for("192.0.2.7", tmp_path).fingerprint != old.fingerprint


def test_a_session_taken_back_hears_nothing_more(served: Served) -> None:
    away = httpx.Client(base_url=served.url, transport=httpx.HTTPTransport(local_address=AWAY))
    with httpx.Client(base_url=served.url) as here, away:
        token = token_in(here.get("/devices", timeout=60).text)
        page = here.post("/devices/code", data={"token": token, "role": "look"}).text
        code = "".join(re.search(r"Code (\d{4}) (\d{4})", page).groups())  # type: ignore[union-attr]
        assert away.post("/pair", data={"code": code, "name": "lent"}).status_code == 303
        with away.stream("GET", "/events", timeout=10) as stream:
            heard = stream.iter_text()
            assert "event: stands" in next(heard)
            marks = re.findall(r'name="mark" value="([0-9a-f]{10})"', here.get("/devices").text)
            for mark in marks:
                here.post("/devices/out", data={"token": token, "mark": mark})
            began = time.monotonic()
            for _ in heard:
                assert time.monotonic() - began < 5
        assert away.get("/findings").headers["location"] == "/pair"


def test_a_certificate_without_a_network_to_use_it_on_is_refused(folder: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    from drybuild.cli import main

    assert main(["serve", str(folder), "--certificate"]) != 0
    assert "goes with --share" in capsys.readouterr().err


def test_what_is_lacking_is_said_in_words(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from drybuild.cli import main

    monkeypatch.setattr("drybuild.web.serve.own_address", lambda: "127.0.0.1")
    monkeypatch.delitem(sys.modules, "drybuild.web.certificate", raising=False)
    monkeypatch.setitem(sys.modules, "cryptography", None)
    assert main(["serve", str(folder), "--share", "--certificate"]) != 0
    assert "drybuild[serve,certificate]" in capsys.readouterr().err
    monkeypatch.undo()

    def nowhere(*_: object) -> None:
        raise OSError("no route")

    monkeypatch.setattr("socket.socket.connect", nowhere)
    assert main(["serve", str(folder), "--share"]) != 0
    assert "on no local network" in capsys.readouterr().err


@pytest.mark.skipif(os.name == "nt", reason="links want rights there")
def test_a_part_file_that_is_a_link_is_not_written_through(
    folder: Path, tmp_path: Path, browser
) -> None:  # type: ignore[no-untyped-def]
    file, outside = folder / "parts" / "brakes.toml", tmp_path / "elsewhere.toml"
    file.rename(outside)
    file.symlink_to(outside)
    before, here = outside.read_bytes(), browser()
    page = here.get("/set", params={"address": "part.tolland_disc_310.ring_mass"}).text
    fields = dict(re.findall(r'<input type="hidden" name="([a-z]+)" value="([^"]*)">', page))
    assert here.post("/set", data={**fields, "value": "6.1 kg"}).status_code == 303
    assert outside.read_bytes() == before
    assert "6.1 kg" in file.read_text(encoding="utf-8")
    assert not file.is_symlink()


@pytest.mark.skipif(os.name == "nt", reason="links want rights there")
def test_a_folder_of_parts_that_is_a_link_out_is_not_written_through(
    folder: Path, tmp_path: Path, browser
) -> None:  # type: ignore[no-untyped-def]
    (folder / "parts").rename(tmp_path / "elsewhere")
    (folder / "parts").symlink_to(tmp_path / "elsewhere")
    before, here = _all_of(tmp_path / "elsewhere"), browser()
    page = here.get("/set", params={"address": "part.tolland_disc_310.ring_mass"}).text
    fields = dict(re.findall(r'<input type="hidden" name="([a-z]+)" value="([^"]*)">', page))
    refused = here.post("/set", data={**fields, "value": "6.1 kg"})
    assert refused.status_code == 409
    assert "link out of the build" in refused.text
    assert _all_of(tmp_path / "elsewhere") == before


@pytest.mark.skipif(os.name == "nt", reason="links want rights there")
@pytest.mark.parametrize("ending", ["toml.part", "{pid}.part"])
def test_a_link_where_a_draft_is_made_is_not_written_through(
    folder: Path, tmp_path: Path, browser, ending: str
) -> None:  # type: ignore[no-untyped-def]
    """Somebody who handed the folder on knew what its next draft would be called."""
    outside = tmp_path / "outside.toml"
    outside.write_text("keep me")
    (folder / "drafts").mkdir(exist_ok=True)
    (folder / "drafts" / f"lower.{ending.format(pid=os.getpid())}").symlink_to(outside)
    here = browser()
    data = {"token": token_in(here.get("/findings").text), "title": "Lower", "camber": "-2.4"}
    assert here.post("/corner/front/left/draft", data=data).status_code in (303, 409)
    assert outside.read_text() == "keep me"


def _all_of(place: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in place.iterdir()}


@pytest.mark.skipif(os.name == "nt", reason="signals differ there")
@pytest.mark.parametrize("certificate", [False, True])
def test_an_open_page_does_not_keep_the_app_from_stopping(
    folder: Path, tmp_path: Path, certificate: bool
) -> None:
    keep = tmp_path / "keep"
    with (
        serving(folder, share=certificate, certificate=certificate, keep=keep) as one,
        httpx.Client(base_url=one.url, timeout=30) as here,
        here.stream("GET", "/events") as stream,
    ):
        next(stream.iter_text())
        began = time.monotonic()
        one.process.send_signal(signal.SIGINT)
        one.process.wait(15)
        assert time.monotonic() - began < 10
