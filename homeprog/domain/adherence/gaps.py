"""The longest stretch of waking time without a logged go (docs/METHODS.md, 'Longest gap')."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import accumulate

from .standing import Standing

NOTHING = timedelta(0)


@dataclass(frozen=True, slots=True)
class Window:
    """A past slot's window, [start, end), and its standing."""

    start: datetime
    end: datetime
    standing: Standing


@dataclass(frozen=True, slots=True)
class Go:
    """When a logged go was made: an instant, or, of a fill-in, somewhere in a slot."""

    start: datetime
    end: datetime
    timely: bool


@dataclass(frozen=True, slots=True)
class Gap:
    """The longest gap in waking time asked for; shown None where no slot is known."""

    lowest: timedelta
    shown: timedelta | None
    highest: timedelta
    slots: int  # asked for and past


def longest_gap(windows: Iterable[Window], goes: Iterable[Go]) -> Gap | None:
    """The longest stretch without a go, on a clock that runs only inside slots asked for.

    So nights, holds and the time before the release neither count nor break a stretch. Shown:
    unknown slots stand outside the clock too, later entries count as told. Highest: unknown slots
    run, only timely entries break. Lowest: unknown slots break, as if all of each was a go.
    None where nothing was asked.
    """
    asked = sorted((w for w in windows if w.standing != "excused"), key=lambda w: w.start)
    if not asked:
        return None
    told = list(goes)
    known = [w for w in asked if w.standing != "unknown"]
    as_gone = [Go(w.start, w.end, False) for w in asked if w.standing == "unknown"]
    return Gap(
        lowest=_longest(asked, [*told, *as_gone]),
        shown=_longest(known, told) if known else None,
        highest=_longest(asked, [go for go in told if go.timely]),
        slots=len(asked),
    )


def _longest(windows: Sequence[Window], goes: Iterable[Go]) -> timedelta:
    """The longest stretch of clock time before, between and after the goes."""
    clock = _Clock.of(windows)
    reached, longest = NOTHING, NOTHING
    for start, end in sorted((clock.at(go.start), clock.at(go.end)) for go in goes):
        longest = max(longest, start - reached)
        reached = max(reached, end)
    return max(longest, clock.whole - reached)


@dataclass(frozen=True, slots=True)
class _Clock:
    """A clock that runs only inside windows that do not overlap."""

    starts: Sequence[datetime]
    windows: Sequence[Window]
    before: Sequence[timedelta]  # how long it has run when each window starts
    whole: timedelta

    @classmethod
    def of(cls, windows: Sequence[Window]) -> _Clock:
        lengths = [window.end - window.start for window in windows]
        run = list(accumulate(lengths, initial=NOTHING))
        return cls([window.start for window in windows], windows, run, run[-1])

    def at(self, instant: datetime) -> timedelta:
        """How long it has run at an instant."""
        number = bisect_right(self.starts, instant) - 1
        if number < 0:
            return NOTHING
        window = self.windows[number]
        return self.before[number] + min(instant, window.end) - window.start
