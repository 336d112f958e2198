"""Logs: one JSON object a line. Neither keys nor bodies are ever given to a logger."""

from __future__ import annotations

import logging
from datetime import UTC, datetime
from typing import Any

import orjson

access = logging.getLogger("coilgap.access")


class JsonLines(logging.Formatter):
    """A line for a record; what stands in its ``facts`` comes with it."""

    def format(self, record: logging.LogRecord) -> str:
        line: dict[str, Any] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")[:-6] + "Z",
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": record.getMessage(),
            **getattr(record, "facts", {}),
        }
        if record.exc_info:
            trace = self.formatException(record.exc_info).split("\n")
            # There PostgreSQL quotes the row that it refuses, and with it what somebody has sent.
            line["exception"] = "\n".join(text for text in trace if not text.startswith("DETAIL:"))
        return orjson.dumps(line, default=str).decode()


def log_config(level: str, *, access_log: bool) -> dict[str, Any]:
    """The set-up of every logger of a serving process, in the form of ``logging.config``."""
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"json": {"()": "service.logs.JsonLines"}},
        "handlers": {"errors": {"class": "logging.StreamHandler", "formatter": "json", "stream": "ext://sys.stderr"}},
        "root": {"level": level.upper(), "handlers": ["errors"]},
        "loggers": {
            "uvicorn": {"level": level.upper(), "propagate": True},
            "coilgap.access": {"level": "INFO" if access_log else "CRITICAL", "propagate": True},
        },
    }
