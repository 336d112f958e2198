"""Verdict records: what was asked, what was decided, and from which revisions. Written once, never changed."""
