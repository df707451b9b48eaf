"""The words of alerts on what was logged, and what was not."""

from __future__ import annotations

from .said import NOT_DONE, Figures, Words, day, listed, moment, number, plural, span


def few_logged(figures: Figures, _zone: str) -> Words:
    return (
        "Few logged",
        (f"{figures['reached']} of the {plural(figures['known'], 'due time')} that are known were "
         f"logged, {span(figures)}.", _bounds(figures), *_than(figures), NOT_DONE),
    )  # fmt: skip


def _bounds(figures: Figures) -> str:
    """The share of the dose, and between what it can lie."""
    shown, lowest, highest = (figures[name] for name in ("shown", "lowest", "highest"))
    if lowest == highest:
        return f"That is {shown} % of the dose."
    return (
        f"That is {shown} % of the dose; it can be {lowest} to {highest} %, "
        "for some times are not known or were entered later."
    )


def _than(figures: Figures) -> tuple[str, ...]:
    if not figures.get("accepted"):
        return ()
    return (f"Lower than the {number(100 * figures['p0'])} % that was accepted until the next "
            "visit.",)  # fmt: skip


def reminders_not_arriving(figures: Figures, zone: str) -> Words:
    _, seen = few_logged(figures, zone)
    lines = [
        f"{figures['not_shown']} of {plural(figures['of'], 'time')} not logged had no reminder "
        "shown on the phone: perhaps it is not the patient's doing.",
    ]
    if figures.get("left_out"):
        lines.append(f"Of {figures['left_out']} more it is not known, or they were muted.")
    return "Reminders are not arriving", (*lines, *seen[:-1])


def silence(figures: Figures, zone: str) -> Words:
    last = figures.get("last_bout")
    heard = f"Last log: {moment(last, zone)}." if last else "Nothing has been logged yet."
    asked = figures.get("asked_at")
    lines = (
        f"{heard} The last {plural(figures['slots'], 'due time')}, from "
        f"{moment(figures['since'], zone)} on, passed without a log.",
        "The phone's question 'All well?'"
        + (f", due from {moment(asked, zone)} on," if asked else "")
        + " was not answered.",
    )
    return "Silence: nothing logged, 'All well?' not answered", (*lines, NOT_DONE)


def not_started(figures: Figures, zone: str) -> Words:
    return (
        "Not started: nothing logged yet",
        (f"'{figures['name']}' was released {moment(figures['released'], zone)}. "
         "Nothing was logged on that day or the next.", NOT_DONE),
    )  # fmt: skip


def excess(figures: Figures, zone: str) -> Words:
    lines = []
    if figures.get("days"):
        said = listed(f"{share} % on {day(on)}" for on, share in figures["days"])
        lines.append(f"Over {figures['over']} % of the day's dose on "
                     f"{plural(len(figures['days']), 'day')} of the last 7: {said}.")  # fmt: skip
    for start, amount, dose in figures.get("slots", ()):
        lines.append(f"{amount} logged where {dose} were asked for, {moment(start, zone)}.")
    return "More logged than asked for", (*lines, NOT_DONE)


def entered_later(figures: Figures, _zone: str) -> Words:
    return (
        "Mostly entered later",
        (f"{figures['share']} % of what was logged {span(figures)} was entered more than "
         f"{figures['timely']} minutes after its time ({plural(figures['slots'], 'due time')}).",
         "What is filled in from memory says less of when it was done."),
    )  # fmt: skip
