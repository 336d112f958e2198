"""The straight way to the busiest addresses, past the framework's own, which would take a tenth of a ready answer."""

from __future__ import annotations

from collections.abc import Iterable

from starlette.types import ASGIApp, Receive, Scope, Send

from service.api.body import RawRoute


class Straight:
    """Pure ASGI, inside of the gate, which answers what these routes raise as it does for all others."""

    def __init__(self, app: ASGIApp, routes: Iterable[RawRoute]) -> None:
        self.app = app
        self._routes = {(method, route.path): route for route in routes for method in route.methods or ()}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        route = self._routes.get((scope["method"], scope["path"])) if scope["type"] == "http" else None
        if route is None:
            await self.app(scope, receive, send)
        else:
            scope["route"] = route
            await route.app(scope, receive, send)
