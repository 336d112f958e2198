"""Searches for a day: what was asked, how far they are, what they found; readable from every process."""
