"""Starts the app: on this machine alone, or for the phones of the local network as well."""

from __future__ import annotations

import socket
from pathlib import Path

from drybuild.web.errors import ServeExtraMissing


def serve(folder: Path | str, *, port: int = 0, share: bool = False) -> None:
    """Serve a build folder until it is stopped. port 0: any that is free.

    Raises ServeExtraMissing without the libraries.
    """
    try:
        import uvicorn

        from drybuild.web.app import make_app
    except ImportError:
        raise ServeExtraMissing() from None
    listening = _listen("0.0.0.0" if share else "127.0.0.1", port)
    number = listening.getsockname()[1]
    names = {f"127.0.0.1:{number}", f"localhost:{number}", f"[::1]:{number}"}
    here = _own_address() if share else ""
    if here:
        names.add(f"{here}:{number}")
    app = make_app(folder, hosts=frozenset(names), share=share)
    print(f"The car is at http://127.0.0.1:{number}/   stop with Ctrl-C")
    if here:
        print(f"Phones on this network: http://{here}:{number}/   pair them on the page “Devices”.")
        print("The link on the local network is not encrypted: others on it can read along.")
    config = uvicorn.Config(app, log_level="warning", server_header=False, date_header=False)
    uvicorn.Server(config).run(sockets=[listening])


def _listen(address: str, port: int) -> socket.socket:
    listening = socket.socket()
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    listening.bind((address, port))
    return listening


def _own_address() -> str:
    """This machine's address on the local network; asks the routing table and sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address for documentation (RFC 5737)
            return str(probe.getsockname()[0])
        except OSError:
            return ""
