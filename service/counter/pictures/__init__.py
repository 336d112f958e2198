"""Drawings of a verdict record, as shapes on paper: one set for the page, for the API and for the printed sheet."""
