"""The words of alerts on pain, splint and the daily check."""

from __future__ import annotations

from ...check import SAID, detail_words
from .said import Figures, Words, day, listed, moment, number, plural


def pain_rise(figures: Figures, _zone: str) -> Words:
    of = listed(f"{number(pain)} on {day(on)}" for on, pain in figures["days"])
    days = plural(len(figures["days"]), "day")
    return (
        "Pain has risen",
        (f"{number(figures['now'])} of 10 over the last {days} with pain entered ({of}).",
         f"It was {number(figures['baseline'])} of 10 at the start of this stage, "
         "on its days 2 to 4."),
    )  # fmt: skip


def average_pain(figures: Figures, _zone: str) -> Words:
    of = listed(f"{pain} of 10 on {day(on)}" for on, pain in figures["days"])
    return (
        f"Average pain {figures['at_least']} or more, two days running",
        (f"Told in the daily check: {of}.",),
    )


def second_pain(figures: Figures, zone: str) -> Words:
    of = listed(f"{pain} of 10 on {moment(at, zone)}" for at, pain in figures["entries"])
    return (
        f"Pain of {figures['at_least']} or more, twice in one day",
        (f"Entered: {of}.", "At such a pain the phone shows its list of warning signs."),
    )


def splint_off(figures: Figures, _zone: str) -> Words:
    days = [f"{day(on)}{_how(details)}" for on, details in figures["days"]]
    hours = plural(figures.get("hours", 2), "hour")
    long = f"Splint off for more than {hours} at once" if figures.get("long") else None
    head = long or f"Splint not on as told, {len(days)} of {figures['of']} days"
    return head, (f"By the daily check or a report: {listed(days)}.",)


def _how(details: Figures) -> str:
    said = detail_words(details)
    return f" ({said})" if said else ""


def second_day(figures: Figures, _zone: str) -> Words:
    what = listed(SAID[key][1] if key in SAID else key for key in figures["what"])
    days = listed(day(on) for on in figures["days"])
    return f"{what.capitalize()}, second day running", (f"The patient told of it on {days}.",)
