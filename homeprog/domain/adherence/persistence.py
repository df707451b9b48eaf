"""Initiation, implementation and persistence (ABC taxonomy; docs/METHODS.md, 'Starting')."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from .gaps import Go, Window
from .standing import Standing

Ending = Literal["going_on", "ended", "not_known"]

HAS_A_GO: frozenset[Standing] = frozenset({"logged", "part", "later"})
ENDED_AFTER = 3  # course days asked for and known, without a go, up to now


@dataclass(frozen=True, slots=True)
class Initiation:
    """Time from the release of the first exercise phase to the first go; None: none, not known."""

    lowest: timedelta | None  # to the first slot that may hold a go nobody has heard of
    shown: timedelta | None  # to the first go as told
    highest: timedelta | None  # to the first timely go
    slots: int  # slots asked for and past before the first go, or so far

    @property
    def started(self) -> bool:
        return self.shown is not None


@dataclass(frozen=True, slots=True)
class Persistence:
    """From the first go to the last one before a stretch with none up to now.

    Lowest: to the last timely go. Shown: to the last go as told. Highest: to now, unless ended.
    """

    ending: Ending
    first: datetime  # first go
    last: datetime  # last go as told
    lowest: timedelta
    shown: timedelta
    highest: timedelta
    quiet_known: int  # course days asked for since, all of whose slots are known and without a go
    quiet_unknown: int  # course days since of which a slot is unknown


def initiation(released: datetime, windows: Iterable[Window], goes: Iterable[Go]) -> Initiation:
    """How long it took to begin. `windows` are past slots from the release on."""
    told = sorted((go for go in goes if go.end >= released), key=_when)
    first = told[0].start if told else None
    timely = next((go.start for go in told if go.timely), None)
    asked = [w for w in windows if w.standing != "excused" and (first is None or w.start < first)]
    hidden = min((w.start for w in asked if w.standing == "unknown"), default=first)
    return Initiation(
        _since(released, hidden), _since(released, first), _since(released, timely), len(asked)
    )


def _since(released: datetime, at: datetime | None) -> timedelta | None:
    return None if at is None else max(at - released, timedelta(0))


def _when(go: Go) -> datetime:
    return go.start


def persistence(
    days: Sequence[Sequence[Window]],
    goes: Iterable[Go],
    now: datetime,
    ended_after: int = ENDED_AFTER,
) -> Persistence | None:
    """Whether it goes on; None without a go. `days` are the past slots of each course day.

    Ended: since the last go at least (3) whole course days were asked for, and no slot since is
    unknown. As many days, but a slot unknown: not known. A day wholly excused is not asked for.
    """
    told = sorted(goes, key=_when)
    if not told:
        return None
    first, last = told[0].start, max(go.end for go in told)
    timely = max((go.end for go in told if go.timely), default=first)
    known, unknown = _quiet(days, last)
    ending = _ending(known, unknown, ended_after)
    return Persistence(
        ending, first, last,
        lowest=timely - first,
        shown=last - first,
        highest=(last if ending == "ended" else max(now, last)) - first,
        quiet_known=known,
        quiet_unknown=unknown,
    )  # fmt: skip


def _quiet(days: Iterable[Sequence[Window]], last: datetime) -> tuple[int, int]:
    """Whole course days asked for after the last go: wholly known ones, and the others."""
    known = unknown = 0
    for day in days:
        asked = [window for window in day if window.standing != "excused"]
        if not asked or min(window.start for window in asked) <= last:
            continue
        if any(window.standing in HAS_A_GO for window in asked):  # done before it, by the grace
            continue
        hidden = any(window.standing == "unknown" for window in asked)
        known, unknown = known + (not hidden), unknown + hidden
    return known, unknown


def _ending(known: int, unknown: int, ended_after: int) -> Ending:
    if known + unknown < ended_after:
        return "going_on"
    return "not_known" if unknown else "ended"
