"""Where the command line begins and ends; all of it is in ``service.command_line``, which takes a while to load."""

from __future__ import annotations

import errno
import os
import signal
import sys
from typing import NoReturn

STOPPED, UNREAD = 130, 141
"""How a shell tells that Ctrl-C, or a pipe that nobody reads any more, has ended a program.

Serving is well ended by Ctrl-C.
"""


def main(arguments: list[str] | None = None) -> int:
    try:
        return _obeyed(arguments)
    except KeyboardInterrupt as interrupt:
        print(f"coilgap: {str(interrupt) or 'stopped'}.", file=sys.stderr)
        return STOPPED
    except BrokenPipeError:
        _say_no_more()
        return UNREAD
    except OSError as error:
        if error.errno != errno.ENOSPC:
            raise
        _say_no_more()
        print("coilgap: The disk is full: what there is to say cannot be written.", file=sys.stderr)
        return 1


def _obeyed(arguments: list[str] | None) -> int:
    try:
        from service.command_line import obey  # noqa: PLC0415 — Ctrl-C may come while it is loaded

        return obey(arguments)
    finally:
        print(end="", flush=True)  # what cannot be written is noticed now, and not when Python ends


def _say_no_more() -> None:
    """What could not be written would be tried once more when Python ends."""
    with open(os.devnull, "wb") as nowhere:  # noqa: PTH123
        os.dup2(nowhere.fileno(), sys.stdout.fileno())


def run() -> NoReturn:
    status = main()
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # how it went has been told; Ctrl-C cannot change it any more
    sys.exit(status)


if __name__ == "__main__":
    run()
