"""Splint wear as told in the daily check: a measure of its own, with bounds.

Docs/METHODS.md, 'Splint wear'.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from .adherence import Bounds, percents


@dataclass(frozen=True, slots=True)
class Wear:
    """What a window of days in which the question was asked comes to."""

    as_told: int  # days answered 'yes'
    not_as_told: int
    unanswered: int

    @property
    def asked(self) -> int:
        return self.as_told + self.not_as_told + self.unanswered

    @property
    def bounds(self) -> Bounds:
        """Lowest counts unanswered days as not as told, highest as told; shown leaves them out."""
        answered = self.as_told + self.not_as_told
        return Bounds(
            Fraction(self.as_told, self.asked) if self.asked else None,
            Fraction(self.as_told, answered) if answered else None,
            Fraction(self.as_told + self.unanswered, self.asked) if self.asked else None,
        )


def wear(answers: Iterable[bool | None]) -> Wear:
    """Sum up the answers of days asked: True as told, False not, None unanswered."""
    told = list(answers)
    yes = sum(each is True for each in told)
    no = sum(each is False for each in told)
    return Wear(yes, no, len(told) - yes - no)


def printed(told: Wear) -> str:
    """'62 to 88 %, shown 83, of 16 days asked (4 not answered)'."""
    if not told.asked:
        return "not asked"
    numbers = percents(told.bounds)
    days = f"{told.asked} day{'' if told.asked == 1 else 's'} asked"
    aside = f" ({told.unanswered} not answered)" if told.unanswered else ""
    if numbers is None:
        return f"not known yet, of {days}{aside}"
    lowest, shown, highest = numbers
    return f"{lowest} to {highest} %, shown {shown}, of {days}{aside}"
