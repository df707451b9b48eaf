"""The errors the rules can raise, built from codes and values; web maps them to statuses."""

from __future__ import annotations


class HomeprogError(Exception):
    """Anything the rules refuse. `code` is stable, `message` says what to do.

    `fields` maps a field path ("phases.0.earliest_day") to its messages.
    """

    def __init__(self, code: str, message: str, fields: dict[str, list[str]] | None = None) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.fields = fields or {}


class Invalid(HomeprogError):
    """What was entered cannot be meant, or the rules of care refuse it (422)."""


class NotFound(HomeprogError):
    """No such thing in this clinic (404); the same answer whoever asks."""

    def __init__(self, what: str = "thing") -> None:
        super().__init__("not_found", f"No such {what} in this clinic.")


class Forbidden(HomeprogError):
    """Signed in, but not allowed to do this (403)."""


class Conflict(HomeprogError):
    """The thing is no longer in the state this step needs (409)."""
