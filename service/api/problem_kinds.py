"""The sorts of problem, each with a page that says what to do about it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ProblemKind:
    """One sort of problem: its page is ``/problems/{name}``, and ``advice`` is what that page says."""

    name: str
    status: int
    title: str
    advice: str


MALFORMED = ProblemKind(
    "malformed-body", 400, "The request cannot be read",
    "The request's body is not UTF-8, is no JSON, or could be read in two ways: the detail says where reading stopped. "
    "Or its header Host does not say once, and as a name or number, whom it is for; or it is no HTTP request at all.",
)  # fmt: skip
IDEMPOTENCY_KEY_MALFORMED = ProblemKind(
    "idempotency-key-malformed", 400, "The Idempotency-Key cannot be read",
    "The header Idempotency-Key holds one text in double quotes, of 1 to 255 printable ASCII characters; letters, "
    "digits and signs without blanks may also stand without the quotes. A random UUID serves well.",
)  # fmt: skip
KEY_NEEDED = ProblemKind(
    "key-needed", 401, "A key is needed",
    "The request brings no key, or one that is false, revoked or expired. Send the key that the operator of this "
    "service has issued to you in the header Authorization: Bearer <key>.",
)  # fmt: skip
SCOPE_MISSING = ProblemKind(
    "scope-missing", 403, "The key does not allow this",
    "The key is good but lacks the scope that the request needs: evaluate for reading and evaluating, catalogue for "
    "changing vehicles, axles and parts. Ask the operator of this service for a key with that scope.",
)  # fmt: skip
NOT_FOUND = ProblemKind(
    "not-found",
    404,
    "There is no such thing",
    "Nothing is known under this address. Check the spelling of the name in it.",
)
WRONG_METHOD = ProblemKind(
    "method-not-allowed", 405, "This cannot be done here",
    "The address exists but does not take this method; the header Allow lists the ones it takes.",
)  # fmt: skip
CONFLICT = ProblemKind(
    "conflict", 409, "This does not go with what is catalogued",
    "The name is taken already, or belongs to something that has been withdrawn. To change what exists, use PUT.",
)  # fmt: skip
STALE = ProblemKind(
    "stale-revision", 412, "It has been changed meanwhile",
    "The revision in If-Match is not the one in force: somebody was quicker. Read it again, see what has changed, and "
    "repeat the change with the new ETag.",
)  # fmt: skip
TOO_LARGE = ProblemKind(
    "body-too-large", 413, "The body is too large", "The body is over the limit that this service was set up with."
)
MEDIA_TYPE_UNKNOWN = ProblemKind(
    "unsupported-media-type", 415, "The body is of another media type than this operation takes",
    "Send JSON in UTF-8 and say so: Content-Type: application/json. An import takes text/csv or application/jsonl.",
)  # fmt: skip
NOT_VALID = ProblemKind(
    "not-valid", 422, "The request is not valid",
    "The request can be read, but something in it cannot be. Each entry of errors names a field of the body by an "
    "RFC 6901 pointer, or a parameter, and says what is wrong with it. Nothing was stored and no verdict was given.",
)  # fmt: skip
IDEMPOTENCY_KEY_REUSED = ProblemKind(
    "idempotency-key-reused", 422, "The Idempotency-Key belongs to another request",
    "A key stands for one request: the same request may be sent again under it for 24 hours and gets its first answer, "
    "another one may not. Take a new key for each new request.",
)  # fmt: skip
IF_MATCH_MISSING = ProblemKind(
    "if-match-missing", 428, "The revision to change is not stated",
    "A change must say which revision it was made from: send the ETag that reading it gave, in the header If-Match. "
    "So nobody overwrites what somebody else has just changed.",
)  # fmt: skip
HOST_UNKNOWN = ProblemKind(
    "host-unknown", 421, "This service does not answer under that name",
    "The service asks for no key, so it is reached only as localhost or by its number: else a page on the net could "
    "lead a name of its own here, and ask in its visitor's place. Behind a proxy, or under any other name, have it ask "
    "for keys: COILGAP_KEYS=required.",
)  # fmt: skip
TOO_MANY = ProblemKind(
    "too-many-requests", 429, "Too many requests",
    "The caller has used up its requests for now. Wait as many seconds as Retry-After says. Many combinations at once "
    "are better sent as one batch.",
)  # fmt: skip
SERVER_FAULT = ProblemKind(
    "server-fault", 500, "The service has failed",
    "This is a fault of the service and not of the request. Its log has the details under the request's X-Request-Id.",
)  # fmt: skip
DATABASE_AWAY = ProblemKind(
    "database-away", 503, "The database cannot be reached",
    "The service runs but its database does not answer. Try again after the time in Retry-After. Nothing was stored, "
    "unless the connection broke in the very moment of storing: a POST that is repeated with the same Idempotency-Key "
    "is carried out once.",
)  # fmt: skip
SEARCHES_BUSY = ProblemKind(
    "searches-busy", 503, "Too many searches wait already",
    "Searches are done one after the other, and as many wait as may. Nothing was begun. Ask again after the time in "
    "Retry-After.",
)  # fmt: skip
SEARCH_INTERRUPTED = ProblemKind(
    "search-interrupted", 503, "The search was interrupted",
    "The process that was searching has ended before it was done, as when the service is started anew. Ask again: "
    "nothing else was lost.",
)  # fmt: skip
SERVICE_ENDING = ProblemKind(
    "service-ending", 503, "The service is being stopped",
    "It ends before it is done with the request, as when it is started anew. Ask again after the time in Retry-After. "
    "Whether a change was carried out is not known: a POST that is repeated with the same Idempotency-Key is carried "
    "out once.",
)  # fmt: skip
