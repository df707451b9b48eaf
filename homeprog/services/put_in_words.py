"""What a phone is told of a hand, a day and an hour, in the phone's language.

Names of weekdays and months are CLDR's; digits are Western in every language, so that dates,
doses and telephone numbers read as they do on paper.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, timedelta

from babel.dates import format_date
from babel.lists import format_list

from ..domain.clock import local
from ..domain.course import DIGITS, weeks_and_days
from ..domain.hours import Ring
from ..phrases import Say


def hand_words(say: Say, side: str | None) -> str | None:
    """'Left hand'; None while the side is not known."""
    return say(f"hand.{side}") if side else None


def finger_words(say: Say, digits: Collection[str | None], language: str) -> str | None:
    """'index finger and middle finger', 'thumb'; 'wrist' where only a wrist tendon was repaired."""
    if not digits:
        return None
    fingers = [say(f"finger.{digit}") for digit in DIGITS if digit in digits]
    return format_list(fingers or [say("finger.wrist")], locale=language)


def day_words(say: Say, number: int) -> str:
    """'day 23 (3 weeks 2 days)', 'day 5' in the first week."""
    weeks, days = weeks_and_days(number)
    if weeks <= 0:
        return say("day.number", {"number": number})
    span = say("count.weeks", {"n": weeks})
    if days:
        span = say("day.span", {"weeks": span, "days": say("count.days", {"n": days})})
    return say("day.with_weeks", {"number": number, "span": span})


def date_words(say: Say, day: date, language: str) -> str:
    """'Monday 8 June'."""
    holes = {"weekday": _name(day, "EEEE", language), "day": day.day}
    return say("date.day", holes | {"month": _name(day, "MMMM", language)})


def visit_words(say: Say, day: date, time_of_day: str | None, language: str) -> str:
    """'Monday 8 June, 14:10'; the day alone where no time is known."""
    words = date_words(say, day, language)
    return say("date.at", {"day": words, "time": time_of_day}) if time_of_day else words


def read_words(say: Say, ring: Ring, language: str, then: str | None = None) -> str:
    """'The clinic reads this until 17:00.' or 'Nobody here reads this before Monday 8:00.'

    `then`: the number to ring once nobody reads it any more.
    """
    if not ring.read:
        if ring.until is None:
            return say("read.nobody")
        return say("read.before", {"when": _when(say, ring, language)})
    start, until = local(ring.start, ring.zone), ring.until and local(ring.until, ring.zone)
    if until is None or (until - timedelta(seconds=1)).date() != start.date():
        return say("read.now")
    midnight = (until.hour, until.minute) == (0, 0)
    time = {"time": "24:00" if midnight else f"{until.hour}:{until.minute:02}"}
    told = say("read.until", time)
    return f"{told} {say('read.then', time | {'tel': isolated(then)})}" if then else told


def isolated(tel: str) -> str:
    """A number that stays in one piece, also between words that run from right to left."""
    return "\u2066" + tel.replace(" ", "\u00a0") + "\u2069"


def _when(say: Say, ring: Ring, language: str) -> str:
    """'Monday 8:00'; with its date once the weekday alone could mean another."""
    assert ring.until is not None
    wall = local(ring.until, ring.zone)
    far = (wall.date() - local(ring.start, ring.zone).date()).days > 6
    day = date_words(say, wall.date(), language) if far else _name(wall.date(), "EEEE", language)
    return say("read.when", {"day": day, "time": f"{wall.hour}:{wall.minute:02}"})


def _name(day: date, part: str, language: str) -> str:
    return format_date(day, part, locale=language)
