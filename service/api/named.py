"""A body that carries its own name, beside the name in the address."""

from __future__ import annotations

from typing import Any

from service.api.schemas.values import Strict
from service.engine.refusal import Fault, RefusedError


def body_named(field: str, model: Strict, address: str | None = None) -> tuple[str, dict[str, Any]]:
    """The name of a thing and its body. Raises ``RefusedError`` where body and address do not agree on it."""
    body = model.model_dump(exclude_none=True)
    name = body.setdefault(field, address)
    if name is None:
        raise RefusedError([Fault(f"/{field}", "is missing")])
    if address is not None:
        agree(field, name, address)
    return name, body


def agree(field: str, stated: str | None, address: str) -> None:
    """Raise ``RefusedError`` where a body names another thing than the address does."""
    if stated not in (None, address):
        detail = f"is {stated}, but the address says {address}: a name cannot be changed"
        raise RefusedError([Fault(f"/{field}", detail)])
