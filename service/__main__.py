"""Where the command line begins and ends; all of it is in ``service.command_line``, which takes a while to load."""

from __future__ import annotations

import signal
import sys
from typing import NoReturn

STOPPED = 130
"""How a shell tells that Ctrl-C has ended a program. Serving, which ends in no other way, is well ended by it."""


def main(arguments: list[str] | None = None) -> int:
    try:
        from service.command_line import obey  # noqa: PLC0415 — Ctrl-C may come while it is loaded

        return obey(arguments)
    except KeyboardInterrupt as interrupt:
        print(f"coilgap: {str(interrupt) or 'stopped'}.", file=sys.stderr)
        return STOPPED


def run() -> NoReturn:
    status = main()
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # how it went has been told; Ctrl-C cannot change it any more
    sys.exit(status)


if __name__ == "__main__":
    run()
