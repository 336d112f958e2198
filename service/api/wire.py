"""What the HTTP server answers by itself, where it cannot make out a request at all: a problem, as everywhere else."""

from __future__ import annotations

import orjson
from starlette.responses import Response
from uvicorn.protocols.http.httptools_impl import STATUS_LINE, HttpToolsProtocol

from service.api.frame import SECURITY_HEADERS
from service.api.problem_kinds import MALFORMED
from service.api.problems import MEDIA_TYPE
from service.web import new_id

DETAIL = "This is no HTTP request, or one whose parts contradict each other: no application can be asked it."


class ProblemProtocol(HttpToolsProtocol):
    """The HTTP server's side of a connection."""

    def send_400_response(self, msg: str) -> None:  # noqa: ARG002 — the server's words are not for fitters
        """Answer what could not be parsed, and end the connection: where the next request would begin is not known."""
        problem = {
            "type": f"/problems/{MALFORMED.name}",
            "title": MALFORMED.title,
            "status": MALFORMED.status,
            "detail": DETAIL,
        }
        answer = Response(orjson.dumps(problem), MALFORMED.status, media_type=MEDIA_TYPE)
        headers = {**dict(answer.raw_headers), **dict(SECURITY_HEADERS), b"x-request-id": new_id().encode()}
        lines = [b"%b: %b\r\n" % pair for pair in (*self.server_state.default_headers, *headers.items())]
        head = [STATUS_LINE[MALFORMED.status], *lines, b"connection: close\r\n\r\n"]
        self.transport.write(b"".join([*head, bytes(answer.body)]))
        self.transport.close()
