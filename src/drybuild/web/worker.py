"""A process of its own in which one file that somebody sent is read, and that ends with it.

    python -m drybuild.web.worker MODULE:FUNCTION   what is told, a line of JSON, then the bytes

It gets little time, memory and room before it looks at a byte, and answers one line of JSON. Where
the system has no such limits (Windows), the one who started it still ends it by the clock.
"""

from __future__ import annotations

import json
import sys
from importlib import import_module
from typing import Any

if sys.platform != "win32":
    import resource

REFUSED = "refused"
MADE = "made"
NO_MEMORY, FAILED = 3, 4
"""What the process ends with when it has no answer."""


def main() -> int:
    """Read what stdin brings with the function that was named."""
    told = json.loads(sys.stdin.buffer.readline())
    limit(memory=int(told["memory"]), seconds=int(told["seconds"]))
    module, _, name = sys.argv[1].partition(":")
    read = getattr(import_module(module), name)
    data = sys.stdin.buffer.read()
    try:
        answer: dict[str, Any] = {MADE: read(data, **told["about"])}
    except MemoryError:
        return NO_MEMORY
    except ValueError as error:
        answer = {REFUSED: str(error)}
    except Exception:  # whatever a parser makes of it, the one who asked gets a plain answer
        return FAILED
    sys.stdout.write(json.dumps(answer, default=str))
    return 0


def limit(*, memory: int, seconds: int) -> None:
    """Bound this process: bytes of memory, seconds of work, and no file written."""
    if sys.platform == "win32":
        return
    for which, most in (
        (resource.RLIMIT_AS, memory),
        (resource.RLIMIT_CPU, seconds),
        (resource.RLIMIT_FSIZE, 0),
        (resource.RLIMIT_CORE, 0),
        (resource.RLIMIT_NOFILE, 64),
    ):
        _, hard = resource.getrlimit(which)
        lowest = most if hard == resource.RLIM_INFINITY else min(most, hard)
        resource.setrlimit(which, (lowest, lowest))


if __name__ == "__main__":
    raise SystemExit(main())
