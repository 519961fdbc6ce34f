"""Starts the app: on this machine alone, or for the phones of the local network as well."""

from __future__ import annotations

import gc
import socket
import threading
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from drybuild.web.errors import CertificateExtraMissing, NoLocalNetwork, ServeExtraMissing

if TYPE_CHECKING:
    from drybuild.web.certificate import Certificate
    from drybuild.web.desk import Examiner

HERE = "127.0.0.1"
NEEDED = ("fastapi", "jinja2", "uvicorn")


def serve(
    folder: Path | str, *, port: int = 0, share: bool = False, certificate: bool = False
) -> None:
    """Serve a build folder until it is stopped. port 0: any that is free.

    share: phones of the local network may be let in; certificate: their link is encrypted.
    Raises ServeExtraMissing or CertificateExtraMissing without the libraries, NoLocalNetwork.
    """
    if not all(find_spec(name) for name in NEEDED):
        raise ServeExtraMissing()
    here = own_address() if share else ""
    made = _certificate(here) if share and certificate else None
    door = _listen(HERE, port)
    number = door.getsockname()[1]
    if not (Path(folder) / "build.toml").is_file():
        print(f"There is no build in {Path(folder).resolve().name} yet: a few questions make one.")
    gc.disable()  # a tenth of the way to the first page
    from drybuild.web.desk import Desk

    desk = Desk(folder)
    desk.ahead()  # beside what is read now
    threading.Thread(target=_sweep_after, args=(desk.examiner,), daemon=True).start()
    from drybuild.web.app import make_app
    from drybuild.web.doors import run

    if not share:
        app = make_app(desk, hosts=names_of("", number))
        _said_here(number)
        run(app, [door])
        return
    _said_here(number)
    if made is None:
        away = [door] if here == HERE else [door, _listen(here, number)]
        _said(f"http://{here}:{number}/")
        print("The link on the local network is not encrypted: others on it can read along.")
        print("With --certificate it is.", flush=True)
        where = f"http://{here}:{number}"
        run(make_app(desk, hosts=names_of(here, number), share=True, away=where), away)
        return
    sealed = _listen(here, 0)
    other = sealed.getsockname()[1]
    _said(f"https://{here}:{other}/")
    print("A browser warns first: it does not know this machine's certificate. Compare:")
    print(f"SHA-256 {made.fingerprint}", flush=True)
    app = make_app(
        desk, hosts=names_of("", number) | names_of(here, other), share=True,
        away=f"https://{here}:{other}", fingerprint=made.fingerprint,
    )  # fmt: skip
    run(app, [door], sealed=[sealed], key=made.path)


def names_of(address: str, port: int) -> frozenset[str]:
    """Names with port that a door answers to."""
    names = [name for name in (HERE, "localhost", "[::1]", address) if name]
    return frozenset(f"{name}:{port}" for name in names)


def own_address() -> str:
    """This machine's address on the local network; asks the routing table and sends nothing.

    Raises NoLocalNetwork.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address for documentation (RFC 5737)
            found = str(probe.getsockname()[0])
        except OSError:
            raise NoLocalNetwork() from None
    if found == "0.0.0.0":
        raise NoLocalNetwork()
    return found


def _sweep_after(examiner: Examiner) -> None:
    """Search for garbage once the first page is made: all that was made until then stays."""
    examiner.wait()
    gc.freeze()
    gc.enable()


def _said_here(number: int) -> None:
    print(f"The car is at http://{HERE}:{number}/   stop with Ctrl-C", flush=True)


def _said(where: str) -> None:
    print(f"Phones on this network: {where}   pair them on the page “Devices”.")


def _certificate(address: str) -> Certificate:
    try:
        from drybuild.web.certificate import certificate_for
    except ImportError:
        raise CertificateExtraMissing() from None
    return certificate_for(address)


def _listen(address: str, port: int) -> socket.socket:
    listening = socket.socket()
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    listening.bind((address, port))
    listening.listen(128)  # who comes before the app is ready waits, and is not sent away
    return listening
