"""The words of alerts on what was logged, and what was not."""

from __future__ import annotations

from .said import NOT_DONE, Figures, Words, day, listed, moment, number, plural, span


def few_logged(figures: Figures, _zone: str) -> Words:
    return (
        "Few logged",
        (f"{figures['reached']} of {figures['known']} known times logged {span(figures)}: "
         f"{_bounds(figures)}.", *_than(figures), NOT_DONE),
    )  # fmt: skip


def _bounds(figures: Figures) -> str:
    return f"{figures['lowest']} to {figures['highest']} %, shown {figures['shown']}"


def _than(figures: Figures) -> tuple[str, ...]:
    if not figures.get("accepted"):
        return ()
    return (f"Lower than the {number(100 * figures['p0'])} % that was accepted until the next "
            "visit.",)  # fmt: skip


def reminders_not_arriving(figures: Figures, zone: str) -> Words:
    _, (seen, *_rest) = few_logged(figures, zone)
    lines = [
        f"Of {plural(figures['of'], 'time')} not logged whose reminder is known of, "
        f"{figures['not_shown']} had none shown on the phone.",
    ]
    if figures.get("left_out"):
        lines.append(f"Of {figures['left_out']} more it is not known, or they were muted.")
    return "Reminders are not arriving", (*lines, seen, "Shown is not heard.")


def silence(figures: Figures, zone: str) -> Words:
    last = figures.get("last_bout")
    heard = f"Last log {moment(last, zone)}." if last else "Nothing has been logged yet."
    asked = figures.get("asked_at")
    lines = (
        f"{plural(figures['slots'], 'due time')} in a row without a log since "
        f"{moment(figures['since'], zone)}. {heard}",
        "The phone's 'All well?' was not answered"
        + (f"; it was due {moment(asked, zone)}." if asked else "."),
    )
    return "Silence: nothing logged, no answer", (*lines, NOT_DONE)


def not_started(figures: Figures, zone: str) -> Words:
    return (
        "Not started",
        (f"'{figures['name']}' was released {moment(figures['released'], zone)}. "
         "Nothing was logged by the second waking after it.", NOT_DONE),
    )  # fmt: skip


def excess(figures: Figures, zone: str) -> Words:
    lines = []
    if figures.get("days"):
        said = listed(f"{share} % on {day(on)}" for on, share in figures["days"])
        lines.append(f"Over {figures['over']} % of the day's dose on "
                     f"{plural(len(figures['days']), 'day')} of the last 7: {said}.")  # fmt: skip
    for start, amount, dose in figures.get("slots", ()):
        lines.append(f"{amount} logged for {dose} asked, {moment(start, zone)}.")
    return "More logged than asked for", (*lines, NOT_DONE)


def entered_later(figures: Figures, _zone: str) -> Words:
    return (
        "Mostly entered later",
        (f"{figures['share']} % of what counts as logged {span(figures)} was entered later than "
         f"{figures['timely']} minutes after its time ({plural(figures['slots'], 'known time')}).",
         "What is filled in from memory says less of when it was done."),
    )  # fmt: skip
