"""What several commands are given."""

from __future__ import annotations

import argparse
from pathlib import Path


def named_path(text: str) -> Path:
    """A file or folder. No name at all would stand for the current folder, which nobody meant."""
    if not text:
        raise argparse.ArgumentTypeError("a file or folder has a name ('.' is the current folder).")
    return Path(text)
