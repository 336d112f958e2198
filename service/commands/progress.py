"""Progress bars of commands that take a while."""

from __future__ import annotations

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn


def bars() -> Progress:
    """Bars on the terminal; elsewhere, in a file or a pipe, nothing."""
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    console = Console(stderr=True)
    return Progress(*columns, console=console, disable=not console.is_terminal)
