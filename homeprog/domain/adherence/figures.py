"""The figures over a window, as bounds of what is not known (docs/METHODS.md, 'Adherence')."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

from .summary import DaySummary


@dataclass(frozen=True, slots=True)
class Bounds:
    """Three exact shares of 1, lowest <= shown <= highest; None where nothing was asked."""

    lowest: Fraction | None
    shown: Fraction | None  # None too where nothing is known: never 0 %
    highest: Fraction | None


@dataclass(frozen=True, slots=True)
class Figures:
    """What a window of slots of one exercise comes to; no figure mixes exercises."""

    dose: Bounds  # credit of the dose asked
    on_time: Bounds  # the same, by bouts done inside their slots alone
    days: Bounds  # days covered: whose own figure reaches 80 %
    slots: int  # 'of 84': asked for and past
    not_asked: int  # '(6 not asked for)': excused and past
    later: Fraction | None  # part of the shown credit that later bouts told; None without credit
    reached: int  # x: known slots logged or later
    known: int  # n: known slots


def figures(window: DaySummary) -> Figures:
    """The figures of a window, given as the sum of its days' summaries (`total`)."""
    asked, known = window.asked_dose, window.known_dose
    return Figures(
        dose=Bounds(
            _share(window.timely, asked),
            _share(window.told, known),
            _share(window.told + window.missing, asked),
        ),
        on_time=Bounds(
            _share(window.on_time, asked),
            _share(window.on_time_told, known),
            _share(window.on_time_told + window.on_time_missing, asked),
        ),
        days=Bounds(
            _share(window.days_lowest, window.days),
            _share(window.days_shown, window.days_known),
            _share(window.days_highest, window.days),
        ),
        slots=window.slots,
        not_asked=window.excused,
        later=_share(window.told - window.timely, window.told),
        reached=window.reached,
        known=window.known,
    )


def _share(part: int, whole: int) -> Fraction | None:
    return Fraction(part, whole) if whole else None


def percents(bounds: Bounds) -> tuple[int, int, int] | None:
    """Lowest rounded down, shown to the nearest (half up), highest up; None if nothing is shown."""
    if bounds.lowest is None or bounds.shown is None or bounds.highest is None:
        return None
    nearest = floor(100 * bounds.shown + Fraction(1, 2))
    return (floor(100 * bounds.lowest), nearest, ceil(100 * bounds.highest))


def printed(window: Figures) -> str:
    """The dose figure in words: '62 to 71 %, shown 66, of 84 (6 not asked for)'."""
    numbers = percents(window.dose)
    if numbers is None:
        return "not known yet"
    lowest, shown, highest = numbers
    asides = f" ({window.not_asked} not asked for)" if window.not_asked else ""
    return f"{lowest} to {highest} %, shown {shown}, of {window.slots}{asides}"
