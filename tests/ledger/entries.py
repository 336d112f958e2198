"""Invented records for the ledger's tests."""

import hashlib

from service.ledger.writer import Entry


def entry(record_id, *skus, **changes):
    row = {
        "id": record_id,
        "evaluated_at": "2026-01-01T10:00:00Z",
        "vehicle": "v",
        "axle": "front",
        "verdict": "clear",
        "action": "sell",
        "headline": "Nothing meets.",
        "engine_version": "1",
        "policy": "standard",
        "policy_version": 1,
        "request": '{"axle":{}}',
        "request_sha256": hashlib.sha256(b'{"axle":{}}').hexdigest(),
        "body": f"body of {record_id}".encode(),
        "revisions": '{"axle":1,"parts":{},"vehicle":1}',
        **changes,
    }
    return Entry(row, skus)
