"""From checked questions to verdicts as they go out and into the ledger: one, many at once, or the same again."""
