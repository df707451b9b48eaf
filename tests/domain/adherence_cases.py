"""Judging one invented day, for the tests of standings, summaries and figures."""

from homeprog.domain.adherence import (
    day_figures,
    judge,
)
from homeprog.domain.contact import ContactMark, Phone, contacts
from homeprog.domain.hold import Hold
from tests.domain.credit_cases import EVENING, at, hours

KEY = ("bend", at("09:00"))
WHOLE_DAY = (at("07:00"), at("07:00", 12))
PHONE = Phone("phone", at("08:00", 1))


def known(*clocks, now=EVENING, device="phone"):
    """What words with an empty outbox at these times prove."""
    marks = [ContactMark(device, at(clock), True) for clock in clocks]
    return contacts([PHONE], marks, [], now)


def judged(slots, *bouts, holds=(), cut=None, words=("23:00",), now=EVENING, **more):
    return judge(slots, bouts, holds, cut or {}, known(*words, now=now), now, **more)


def standing(*bouts, **more):
    return judged(hours(count=1), *bouts, **more).standing[KEY]


def day(slots, *bouts, span=WHOLE_DAY, **more):
    return day_figures("bend", slots, judged(slots, *bouts, **more), bouts, span)


def pause(start, end=None, exercise=None):
    return Hold("pause", at(start), at(end) if end else None, exercise)
