"""The daily check read back: what was asked, what was answered, and what that adds up to.

'no' is always the worse answer; unanswered is unknown, never 'yes'. Docs/METHODS.md, 'Daily check'.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from .course import CAN_COME_OFF
from .regime import Phase
from .wear import Wear, wear

ONE = timedelta(days=1)
WORSE = ("no", "cannot_see", "yes")  # of two phones' answers the first of these stands
OFF_AND_BACK = "splint_off_and_back"  # the report that the splint was off a while

# Each question: what yes says, and what no says.
SAID: Mapping[str, tuple[str, str]] = {
    "splint_on": ("splint on as told", "splint not on as told"),
    "splint_holds": ("splint holds firmly", "splint does not hold firmly"),
    "fingers_lift": (
        "fingers and thumb lift as the day before",
        "a finger or the thumb lifts less than the day before",
    ),
    "band_lifts": ("band lifts the finger right up", "band does not lift the finger right up"),
    "no_new_swelling": ("no new swelling", "new swelling"),
    "comfortable": ("comfortable", "not comfortable"),
    "wound_dry": ("wound dry and closed", "wound not dry and closed"),
}
CANNOT_SEE = "could not see the wound"
OFF_HOURS: Mapping[str, tuple[int, int | None]] = {  # hours: at least, at most
    "under_1": (0, 1),
    "1_to_2": (1, 2),
    "over_2": (2, None),
    # As phones asked before, and as one with an older plan still answers.
    "1_to_3": (1, 3),
    "over_3": (3, None),
}
OFF_WORDS: Mapping[str, str] = {
    "under_1": "off under 1 hour",
    "1_to_2": "off 1 to 2 hours",
    "over_2": "off over 2 hours",
    "1_to_3": "off 1 to 3 hours",
    "over_3": "off over 3 hours",
    "sore": "because it was sore",
    "wash": "to wash",
    "other": "for another reason",
}
# What a report says for a question; tingling is reported alone, no question asks for it.
REPORTED_AS: Mapping[str, str] = {
    "no_new_swelling": "swelling",
    "comfortable": "skin",
    "tingling": "tingling",
}


@dataclass(frozen=True, slots=True)
class OffRule:
    """Clinic settings, with their defaults: when a splint off is told."""

    days: int = 2  # days not as told
    of: int = 4  # of so many course days, today among them
    hours: int = 2  # longer than this at once


@dataclass(frozen=True, slots=True)
class Check:
    """The answers of one course day, of one phone or, merged, of several."""

    day: date
    answers: Mapping[str, str]  # question -> yes, no or cannot_see
    details: Mapping[str, Any] = field(default_factory=dict)  # of a splint that was off
    average_pain: int | None = None  # since yesterday, 0 to 10; None skipped


@dataclass(frozen=True, slots=True)
class Report:
    """A report of trouble that was not taken back."""

    kind: str
    details: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class CheckDay:
    """One course day of the check: what was asked, what was answered and reported."""

    day: date
    asked: tuple[str, ...]  # questions; of a day answered, those that were answered
    check: Check | None = None
    reports: tuple[Report, ...] = ()

    def answer(self, key: str) -> str | None:
        """yes, no or cannot_see; None unanswered."""
        return self.check.answers.get(key) if self.check else None

    @property
    def splint_as_told(self) -> bool | None:
        """Whether the splint was on as told; a report that it was off counts as no."""
        if any(report.kind == OFF_AND_BACK for report in self.reports):
            return False
        answer = self.answer("splint_on")
        return None if answer is None else answer == "yes"

    @property
    def asks_splint(self) -> bool:
        """Whether the day counts for splint wear."""
        return "splint_on" in self.asked or self.splint_as_told is False

    def worse(self, key: str) -> bool:
        """Whether the day's answer is no, or a report of the day says the same."""
        kinds = {report.kind for report in self.reports}
        return self.answer(key) == "no" or REPORTED_AS.get(key) in kinds

    def off_at_least(self) -> tuple[int, int | None] | None:
        """The longest time off told of the day, in hours (at least, at most); None not told."""
        told = [report.details for report in self.reports if report.kind == OFF_AND_BACK]
        if self.check is not None and self.answer("splint_on") == "no":
            told.append(self.check.details)
        known = [OFF_HOURS[said] for d in told if (said := str(d.get("off_hours"))) in OFF_HOURS]
        return max(known, key=lambda hours: hours[0], default=None)


@dataclass(frozen=True, slots=True)
class SplintOff:
    """Why a splint off must be told: days not as told, and days on which it was off too long."""

    days: tuple[date, ...]
    long: tuple[date, ...]
    of: int  # course days looked at


def questions(phase: Phase) -> Iterator[str]:
    """The questions that fit a phase, in the order they are asked."""
    worn = phase.splint.worn
    if worn in CAN_COME_OFF:
        yield "splint_on"
    if worn is not None:
        yield "splint_holds"
    if phase.check.active_extension_allowed or phase.check.band_lifts:
        yield "fingers_lift"
    if phase.check.band_lifts:
        yield "band_lifts"
    yield "no_new_swelling"
    if worn is not None:
        yield "comfortable"
    if phase.check.after_dressing:
        yield "wound_dry"


def merged(checks: Sequence[Check]) -> Check | None:
    """One check of a day's several: the worse answer of each question, the longest time off, the
    highest pain."""
    if not checks:
        return None
    keys = dict.fromkeys(key for check in checks for key in check.answers)
    answers = {key: _worst(check.answers[key] for check in checks if key in check.answers)
               for key in keys}  # fmt: skip
    details = _worse_details([check.details for check in checks])
    pains = [check.average_pain for check in checks if check.average_pain is not None]
    return Check(checks[0].day, answers, details, max(pains, default=None))


def _worst(answers: Iterable[str]) -> str:
    return min(answers, key=lambda answer: WORSE.index(answer) if answer in WORSE else len(WORSE))


def _worse_details(told: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Of each detail what was said last, but off now and the longest time off stand."""
    details = {key: value for each in told for key, value in each.items()}
    if any(each.get("off_now") is True for each in told):
        details["off_now"] = True
    hours = [said for each in told if (said := str(each.get("off_hours"))) in OFF_HOURS]
    if hours:
        details["off_hours"] = max(hours, key=lambda said: OFF_HOURS[said][0])
    return details


def splint_wear(days: Iterable[CheckDay]) -> Wear:
    """Splint wear over the days on which it was asked; an unanswered day is unknown."""
    return wear(day.splint_as_told for day in days if day.asks_splint)


def splint_off(
    days: Iterable[CheckDay], today: date, rule: OffRule | None = None
) -> SplintOff | None:
    """Not as told on 2 of the last 4 course days, or off for more than 2 hours at once.

    An answer that leaves more than that possible counts as more: a clinic may set another limit.
    """
    rule = rule or OffRule()
    looked = [day for day in days if today - rule.of * ONE < day.day <= today]
    off = tuple(day.day for day in looked if day.splint_as_told is False)
    long = tuple(day.day for day in looked if _longer(day.off_at_least(), rule.hours))
    return SplintOff(off, long, rule.of) if len(off) >= rule.days or long else None


def _longer(hours: tuple[int, int | None] | None, limit: int) -> bool:
    return hours is not None and (hours[1] is None or hours[1] > limit)


def second_day_running(days: Iterable[CheckDay], key: str, today: date) -> tuple[date, ...]:
    """The last two days running on which `key` was answered no or reported; empty otherwise.

    They end today, or yesterday while today says nothing.
    """
    by_day = {day.day: day for day in days}
    last = today if key in _said(by_day.get(today)) else today - ONE
    pair = (last - ONE, last)
    return pair if all(day in by_day and by_day[day].worse(key) for day in pair) else ()


def _said(day: CheckDay | None) -> set[str]:
    """The questions a day says something of."""
    if day is None:
        return set()
    answered = set(day.check.answers) if day.check else set()
    return answered | {key for key in REPORTED_AS if day.worse(key)}


def answer_words(key: str, answer: str) -> str:
    """What an answer says, for staff; a key a newer phone adds names itself."""
    if answer == "cannot_see":
        return CANNOT_SEE if key == "wound_dry" else f"{key.replace('_', ' ')}: cannot see"
    good, worse = SAID.get(key, (key.replace("_", " "), f"not: {key.replace('_', ' ')}"))
    return good if answer == "yes" else worse


def detail_words(details: Mapping[str, Any]) -> str:
    """How long the splint was off and why, as told; '' where nothing was."""
    told = (str(value) for key, value in details.items() if key != "off_now")
    said = [OFF_WORDS[each] for each in told if each in OFF_WORDS]
    return ", ".join([*said, *(["off now"] if details.get("off_now") is True else [])])
