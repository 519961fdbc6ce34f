"""The command that serves the screens: ``serve``."""

from __future__ import annotations

import argparse
from typing import Any

from drybuild.cli.arguments import command, folder, whole
from drybuild.cli.refused import Refused


def add_serve(commands: Any) -> None:
    """``drybuild serve``."""
    parser = command(
        commands, "serve", "the car in your browser; --share: on paired phones too",
        run_serve,
        examples=("my-car", "my-car --share", "my-car --share --certificate", "my-car --port 8180"),
        more="A folder that is not there yet begins with a few questions, an answer after each.\n"
        "Nothing leaves this machine. With --share, phones of the local network are let in by "
        "a\none-time code; that link is not encrypted unless you add --certificate.",
    )  # fmt: skip
    folder(parser)
    parser.add_argument("--share", action="store_true", help="let paired phones of this network in")
    parser.add_argument(
        "--certificate", action="store_true",
        help="with --share: encrypt the link, by a certificate of this machine's own",
    )  # fmt: skip
    parser.add_argument("--port", type=_port, default=0, help="port (else any that is free)")


def run_serve(arguments: argparse.Namespace) -> int:
    """``drybuild serve``."""
    from drybuild.web.errors import WebProblem
    from drybuild.web.serve import serve

    if arguments.certificate and not arguments.share:
        raise Refused("--certificate goes with --share: without it nothing goes over the network")
    try:
        serve(
            arguments.dir, port=arguments.port, share=arguments.share,
            certificate=arguments.certificate,
        )  # fmt: skip
    except WebProblem as error:
        raise Refused(str(error)) from None
    except OSError as error:
        raise Refused(f"port {arguments.port}: {error.strerror or error}") from None
    return 0


def _port(text: str) -> int:
    found = whole(text)
    if not 0 <= found <= 65535:
        raise argparse.ArgumentTypeError("a port is a number from 0 to 65535")
    return found
