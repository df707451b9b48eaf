"""Reminders that do not arrive: they, and not the patient, are what few logged tells of."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Reminded:
    """What became of the reminders of slots that were not logged."""

    shown: int
    not_shown: int
    left_out: int  # muted by the patient, or not known

    @property
    def known(self) -> int:
        return self.shown + self.not_shown

    @property
    def not_arriving(self) -> bool:
        """Whether half or more of the slots not logged are known to have had no shown reminder.

        One lost reminder among many of which nothing is known must not hide that few were logged.
        """
        return self.not_shown > 0 and 2 * self.not_shown >= self.known + self.left_out


def reminded(states: Iterable[str]) -> Reminded:
    """Sum up the states of slots not logged: shown, not_shown, muted or not_known."""
    counts = Counter(states)
    shown, not_shown = counts["shown"], counts["not_shown"]
    return Reminded(shown, not_shown, counts.total() - shown - not_shown)
