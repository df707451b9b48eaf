"""The words of alerts on pain, splint and the daily check."""

from __future__ import annotations

from ...check import SAID, detail_words
from .said import Figures, Words, day, listed, moment, number, plural


def pain_rise(figures: Figures, _zone: str) -> Words:
    of = listed(f"{number(pain)} on {day(on)}" for on, pain in figures["days"])
    return (
        "Pain has risen",
        (f"Median of the last {plural(len(figures['days']), 'daily pain')}: "
         f"{number(figures['now'])} of 10 ({of}).",
         f"Days 2 to 4 of this stage: {number(figures['baseline'])}."),
    )  # fmt: skip


def average_pain(figures: Figures, _zone: str) -> Words:
    of = listed(f"{pain} on {day(on)}" for on, pain in figures["days"])
    return f"Average pain {figures['at_least']} or more, two days running", (f"{of}, of 10.",)


def second_pain(figures: Figures, zone: str) -> Words:
    of = listed(f"{pain} at {moment(at, zone)}" for at, pain in figures["entries"])
    return (
        f"Pain of {figures['at_least']} or more, twice in one day",
        (f"{of}, of 10.", "At such a pain the phone shows its list of warning signs."),
    )


def splint_off(figures: Figures, _zone: str) -> Words:
    days = [f"{day(on)}{_how(details)}" for on, details in figures["days"]]
    long = "Off for more than 2 hours at once" if figures.get("long") else None
    head = long or f"Splint not on as told, {len(days)} of {figures['of']} days"
    return head, (f"Not on as told: {listed(days)}.",)


def _how(details: Figures) -> str:
    said = detail_words(details)
    return f" ({said})" if said else ""


def second_day(figures: Figures, _zone: str) -> Words:
    what = listed(SAID[key][1] if key in SAID else key for key in figures["what"])
    days = listed(day(on) for on in figures["days"])
    return f"{what.capitalize()}, second day running", (f"Told on {days}.",)
