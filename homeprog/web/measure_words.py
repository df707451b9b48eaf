"""Measures in words and whole per cents, as the page prints them and the JSON tells them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction
from math import ceil, floor

from ..domain.adherence import Bounds, percents
from ..domain.adherence.chance import Verdict
from ..domain.adherence.gaps import Gap
from ..domain.adherence.pattern import Share
from ..domain.adherence.persistence import Initiation, Persistence
from ..domain.pain import Change, Relation
from ..domain.wear import Wear
from .measured import Measured, OfExercise, Starting
from .words import plural

NOT_KNOWN = "not known yet"
NO_HIGHEST = "not known"
MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)

VERDICTS: Mapping[Verdict, str] = {
    "above": "Enough to say that it is above {} %.",
    "below": "Enough to say that it is below {} %.",
    "not_enough": "Not enough to say whether it is above or below {} %.",
}
WAYS: Mapping[str, str] = {
    "paced": "counted aloud at its pace by the phone",
    "counted": "counted by the patient",
    "one_tap": "one tap",
    "later": "entered later, for an hour that had passed",
}
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True, slots=True)
class Line:
    """One measure as a line of the table; `key` names it in the JSON and in the methods."""

    key: str
    name: str
    lowest: str
    shown: str
    highest: str
    behind: str  # what it is made of
    note: str = ""


@dataclass(frozen=True, slots=True)
class Bar:
    """One hour or weekday: its slots in words, and the same as whole per cents for a bar."""

    name: str
    share: Share
    percents: tuple[int, int, int] | None

    @property
    def words(self) -> str:
        return bounds_words(self.share.bounds)


def bounds_words(bounds: Bounds) -> str:
    """'62 to 71 %, shown 66'; 'not known yet' without a shown figure."""
    told = percents(bounds)
    return f"{told[0]} to {told[2]} %, shown {told[1]}" if told else NOT_KNOWN


def lines(told: Measured) -> list[Line]:
    """The measures with bounds; splint wear first where no exercise leads."""
    wear = _wear(told.wear)
    if told.exercise is None:
        return [wear]
    return [*_of_exercise(told.exercise), wear]


def _of_exercise(told: OfExercise) -> Iterator[Line]:
    found, window = told.figures, told.window
    behind = plural(found.slots, "slot") + _not_asked(found.not_asked)
    yield _percent("dose", "Dose logged, of the dose asked", found.dose, behind)
    yield _percent("on_time", "Done inside the slot", found.on_time, behind)
    note = "80 % is borrowed from drug measures: no threshold is published for this repair."
    days = plural(window.days, "day")
    yield _percent("days_covered", "Days that reach 80 %", found.days, days, note)
    yield _later(told)
    yield _excess(told)
    yield _gap(told.gap, found.not_asked)


def _not_asked(number: int) -> str:
    return f" ({number} not asked for)" if number else ""


def _percent(key: str, name: str, bounds: Bounds, behind: str, note: str = "") -> Line:
    lowest, shown, highest = _each(bounds)
    return Line(key, name, lowest, shown, highest, behind, note)


def _each(bounds: Bounds) -> tuple[str, str, str]:
    """Lowest, shown and highest in words; '' where there is none at all."""
    low, shown, high = (None if each is None else f"{each} %" for each in whole(bounds))
    return low or "", shown or NOT_KNOWN, high or ""


def whole(bounds: Bounds) -> tuple[int | None, int | None, int | None]:
    """Whole per cents: lowest rounded down, shown to the nearest (half up), highest up."""
    low, shown, high = bounds.lowest, bounds.shown, bounds.highest
    return (
        None if low is None else floor(100 * low),
        None if shown is None else nearest(shown),
        None if high is None else ceil(100 * high),
    )


def nearest(share: Fraction) -> int:
    """A share in whole per cents, to the nearest, half up."""
    return floor(100 * share + Fraction(1, 2))


def _later(told: OfExercise) -> Line:
    share = told.figures.later
    shown = f"{nearest(share)} %" if share is not None else NOT_KNOWN
    behind = plural(told.window.reached + told.window.part, "slot") + " with a log"
    return Line("entered_later", "Of what is shown, entered later", "", shown, "", behind)


def _excess(told: OfExercise) -> Line:
    lowest, shown, _ = _each(told.excess)
    behind = f"{told.window.excess} beyond {told.window.asked_dose} asked"
    highest = NO_HIGHEST if lowest else ""
    return Line(
        "excess", "Logged beyond the dose, of the dose asked", lowest, shown, highest, behind
    )


def _gap(gap: Gap | None, not_asked: int) -> Line:
    name = "Longest waking time without a logged go"
    note = "Nights, holds and hours in which nothing was due stand outside it."
    if gap is None:
        return Line("longest_gap", name, "", NOT_KNOWN, "", "0 slots" + _not_asked(not_asked), note)
    shown = time_words(gap.shown) if gap.shown is not None else NOT_KNOWN
    behind = plural(gap.slots, "slot") + _not_asked(not_asked)
    highest = time_words(gap.highest)
    return Line("longest_gap", name, time_words(gap.lowest), shown, highest, behind, note)


def _wear(told: Wear) -> Line:
    behind = plural(told.asked, "day") + " asked"
    if told.unanswered:
        behind += f" ({told.unanswered} not answered)"
    note = "From the daily check; a report that it was off counts as not as told."
    return _percent("splint_wear", "Splint worn as told", told.bounds, behind, note)


def verdict_words(told: OfExercise, against: Fraction) -> str:
    """Whether there is enough to say, by chance alone."""
    return VERDICTS[told.verdict].format(nearest(against))


def time_words(span: timedelta) -> str:
    """'45 min', '3 h 20 min', '2 days 4 h', to the whole minute or hour below."""
    if span < HOUR:
        return f"{span // MINUTE} min"
    if span < DAY:
        minutes = span % HOUR // MINUTE
        return f"{span // HOUR} h" + (f" {minutes} min" if minutes else "")
    hours = span % DAY // HOUR
    return plural(span // DAY, "day") + (f" {hours} h" if hours else "")


def hour_bars(hours: Mapping[int, Share]) -> list[Bar]:
    """A bar for each local hour in which a slot begins, waking first."""
    return [Bar(f"{hour % 24:02}:00", each, percents(each.bounds)) for hour, each in hours.items()]


def weekday_bars(weekdays: Mapping[int, Share]) -> list[Bar]:
    """A bar for each weekday, Monday first."""
    return [Bar(WEEKDAYS[day], each, percents(each.bounds)) for day, each in weekdays.items()]


def starting_lines(told: Starting) -> list[tuple[str, str]]:
    """(what, in words) of initiation, implementation and persistence."""
    if told.initiation is None:
        return []
    found = [("Began", _began(told.initiation))]
    if told.implementation is not None and told.persistence is not None:
        dose = bounds_words(told.implementation.dose)
        found.append(("While it went on", f"{dose}, of {told.implementation.slots} slots"))
        found.append(("Goes on", _going(told.persistence)))
    return found


def _began(told: Initiation) -> str:
    slots = plural(told.slots, "slot")
    if told.shown is None:
        if told.lowest is None:
            return (
                f"not started: nothing logged in {slots}" if told.slots else "no slot is past yet"
            )
        return f"{NOT_KNOWN}: nothing logged in {slots}, not all of them known"
    said = f"{time_words(told.shown)} after the release"
    bounds = []
    if told.lowest != told.shown and told.lowest is not None:
        bounds.append(f"at the earliest {time_words(told.lowest)}")
    if told.highest is None:
        bounds.append("nothing was entered in time yet")
    elif told.highest != told.shown:
        bounds.append(f"by what was entered in time {time_words(told.highest)}")
    return "; ".join([said, *bounds])


def _going(told: Persistence) -> str:
    kept = f"{time_words(told.shown)} from the first go to the last"
    if told.ending == "ended":
        return f"stopped: {kept}, then {plural(told.quiet_known, 'whole day')} without a go"
    if told.ending == "not_known":
        silent = told.quiet_known + told.quiet_unknown
        return (
            f"{NOT_KNOWN}: {kept}, then {plural(silent, 'whole day')} without a log, "
            f"{told.quiet_unknown} of them not known"
        )
    return f"yes: {kept}"


def ways_lines(told: OfExercise) -> list[tuple[str, int, int]]:
    """(how, logs, whole per cent of the logs) of each way that is known."""
    made = sum(told.ways.values())
    return [
        (WAYS.get(way, way.replace("_", " ")), number, nearest(Fraction(number, made)))
        for way, number in told.ways.items() if made
    ]  # fmt: skip


def change_words(told: Change) -> str:
    """'down 2 points (40 %), ...' since the baseline."""
    if not told.points:
        return "unchanged"
    way = "up" if told.points > 0 else "down"
    share = "" if told.share is None else f" ({nearest(abs(told.share))} %)"
    real = "a change that matters" if told.real else "a small change"
    points = abs(told.points)
    unit = "point" if points == 1 else "points"
    return f"{way} {float(points):g} {unit}{share}: {real}"


def relation_words(told: Relation) -> str:
    """How pain went with the dose of the day after."""
    behind = f"{plural(told.pairs, 'pair')} of days"
    if not told.enough or told.rank is None:
        return f"Not enough to say ({behind})."
    less = "less" if told.rank < 0 else "more"
    return (
        f"The more it hurt, the {less} was logged on the day after "
        f"(rank correlation {told.rank:.2f}, {behind}). That is no proof that one makes the other."
    )
