"""The ``drybuild`` command.

Exit codes: 0 examined, 1 with --strict when the wanted use is stopped, 2 for faults in the build
or in what was asked, 130 when stopped by Ctrl-C.
"""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Callable, Sequence

from drybuild.cli.parser import make_parser
from drybuild.cli.refused import Refused


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command; returns the exit code."""
    arguments = make_parser().parse_args(argv)
    if not hasattr(arguments, "run"):
        make_parser().print_help()
        return 0
    from drybuild.build import BuildProblem
    from drybuild.journal import JournalProblem

    run: Callable[[argparse.Namespace], int] = arguments.run
    for stream in (sys.stdout, sys.stderr):
        # A console or file of an older character set gets ? for what it has no sign for.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    try:
        code = run(arguments)
        sys.stdout.flush()
        return code
    except BuildProblem as error:
        faults = getattr(error, "faults", ())
        if faults:
            print(
                f"{len(faults)} fault{'s' if len(faults) != 1 else ''} in the build",
                file=sys.stderr,
            )
        print(error, file=sys.stderr)
    except (JournalProblem, Refused) as error:
        print(error, file=sys.stderr)
    except BrokenPipeError:
        # Whoever read has read enough; what is still held back must not be written at the end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt as stopped:
        print(f"{stopped}" or "stopped; nothing more was done", file=sys.stderr)
        return 130
    except EOFError:
        print("stopped; nothing more was done", file=sys.stderr)
    except OSError as error:
        print(f"{error.filename or ''}: {error.strerror or error}", file=sys.stderr)
    return 2
