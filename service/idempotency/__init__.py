"""Requests that may be sent twice: what was answered the first time is kept, and given again."""
