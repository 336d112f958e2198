"""What many records say alike."""

from __future__ import annotations

from typing import Any


class Lasting(dict[str, Any]):
    """A JSON object that is the very same one in many records, so that it must not be changed.

    Whoever writes records may keep its ``text`` with it, in a form of his own, and that it ``came_before``.
    """

    __slots__ = ("came_before", "text")
    text: Any

    def __init__(self, said: dict[str, Any]) -> None:
        super().__init__(said)
        self.came_before, self.text = False, None
