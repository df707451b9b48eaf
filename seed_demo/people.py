"""Who is in the demo clinic: invented staff and patients, plain data. No real people."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

CLINIC = "Fenbrook Hand Unit"
ZONE = "Europe/London"
ENDS = datetime.combine(date(2026, 6, 5), time(14, 10), ZoneInfo(ZONE))  # a Friday
DAYS = 84

Kind = Literal[
    "steady", "fading", "stops", "puts_it_down", "over_does", "phone_dies", "travels", "static",
    "trouble", "locked_away", "pain_rises", "never_starts", "bedtime", "splint_off", "band_slack",
    "no_check", "reoperated",
]  # fmt: skip


@dataclass(frozen=True)
class Member:
    """One of the staff. The sign-in is printed with a password made at load."""

    sign_in: str
    name: str
    role: Literal["enroller", "therapist", "manager"]
    profession: str | None


STAFF = (
    Member("mira", "Mira Okonjo", "enroller", None),
    Member("tomas", "Tomas Lindqvist", "therapist", "hand_therapist"),
    Member("salma", "Salma Haddow", "therapist", "surgeon"),
    Member("ruth", "Ruth Penhale", "manager", None),
)

Releases = tuple[tuple[str, int], ...]  # phase, and the course day from which it is released

DYNAMIC, ACTIVE, STATIC = (
    "static-then-dynamic", "early-controlled-active", "static-several-tendons",
)  # fmt: skip
RELEASES: Mapping[str, Releases] = {
    DYNAMIC: (("static", 2), ("dynamic", 7), ("dynamic_wide", 24), ("wrist_free", 28),
              ("splint_off", 42), ("loading", 56)),
    ACTIVE: (("controlled_active", 5), ("exercise_free", 28), ("splint_off", 42), ("loading", 56)),
    STATIC: (("static", 2), ("finger_motion", 21), ("wrist_free", 42), ("loading", 56)),
}  # fmt: skip
FINISHED = 63  # the course day from which a course is closed, its plan finished


@dataclass(frozen=True)
class Person:
    """One invented patient with one course; `operated` counts days from the load's first."""

    name: str
    born: date
    number: str
    tel: str
    operated: int
    side: Literal["left", "right"]
    digit: str
    structure: str
    zone: str
    template: str
    kind: Kind
    seed: int
    next_visit: int | None = None  # days after the load's last
    worn: str = "splint"
    repairs: tuple[tuple[str | None, str, str], ...] = ()  # more than the one
    removal_day: int | None = None  # the surgeon's day for the slab, where the template has none
    again: bool = False  # a second operation of the patient before of the same number

    @property
    def releases(self) -> Releases:
        return RELEASES[self.template]


def _of(
    name: str, born: date, last: int, operated: int, side: Literal["left", "right"], digit: str,
    structure: str, zone: str, template: str, kind: Kind, next_visit: int | None = None,
    again: bool = False,
) -> Person:  # fmt: skip
    """A person in two lines; `last` ends both invented numbers, and is the seed."""
    return Person(
        name, born, f"FB 20{last}", f"01632 960 {last}", operated, side, digit, structure, zone,
        template, kind, last, next_visit, again=again,
    )  # fmt: skip


PEOPLE = (
    # The first weeks: finished by now, or nearly.
    _of("Agnes Tolland", date(1958, 5, 6), 101, 1,
        "right", "middle", "EDC", "VI", DYNAMIC, "steady"),
    _of("Joel Marchbank", date(1991, 8, 19), 102, 3,
        "left", "ring", "EDC", "V", ACTIVE, "steady"),
    _of("Leila Corrigan", date(1984, 2, 27), 103, 6,
        "right", "index", "EIP", "VI", DYNAMIC, "bedtime"),
    _of("Dev Harbottle", date(1969, 11, 3), 104, 9,
        "left", "small", "EDM", "V", ACTIVE, "locked_away"),
    _of("Maud Penrose", date(1949, 1, 14), 105, 12,
        "left", "middle", "EDC", "VI", DYNAMIC, "no_check"),
    _of("Theo Lansdale", date(1999, 6, 30), 106, 14,
        "right", "ring", "EDC", "V", ACTIVE, "locked_away"),
    _of("Carys Wexford", date(1976, 9, 9), 107, 17,
        "left", "index", "EDC", "V", ACTIVE, "steady"),
    _of("Piotr Ambrose", date(1982, 12, 1), 108, 20,
        "right", "middle", "EDC", "VI", DYNAMIC, "pain_rises"),
    _of("Ruby Standish", date(1995, 4, 22), 109, 22,
        "right", "small", "EDC", "V", ACTIVE, "never_starts"),
    _of("Gareth Olney", date(1966, 7, 17), 110, 25,
        "left", "middle", "EDC", "VI", DYNAMIC, "reoperated"),
    _of("Yasmin Fell", date(1987, 10, 8), 111, 29,
        "right", "ring", "EDC", "VI", DYNAMIC, "splint_off"),
    _of("Silas Trevanion", date(1953, 3, 12), 112, 33,
        "left", "ring", "EDC", "VI", DYNAMIC, "band_slack"),
    _of("Noor Haxby", date(1992, 5, 25), 113, 38,
        "right", "index", "EDC", "V", ACTIVE, "puts_it_down"),
    _of("Bethan Kirkup", date(1971, 2, 2), 114, 43,
        "left", "middle", "EDC", "VI", DYNAMIC, "steady"),
    _of("Gareth Olney", date(1966, 7, 17), 110, 49,
        "left", "middle", "EDC", "VI", DYNAMIC, "steady", again=True),
    # The last four weeks.
    _of("Edith Varley", date(1961, 2, 11), 117, 55,
        "left", "middle", "EDC", "VI", DYNAMIC, "steady", next_visit=3),
    _of("Callum Sorrel", date(1994, 9, 3), 121, 56,
        "right", "index", "EDC", "V", ACTIVE, "fading", next_visit=4),
    replace(
        _of("Owen Reddaway", date(1972, 10, 14), 140, 56, "left", "thumb", "EPL", "VII", STATIC,
            "static"),
        worn="slab", repairs=(("index", "EDC", "VII"), (None, "ECRL", "VII")), removal_day=21,
    ),
    _of("Bruno Ashdown", date(1979, 4, 30), 130, 59,
        "right", "middle", "EDC", "VI", DYNAMIC, "over_does", next_visit=5),
    _of("Priya Tarn", date(1990, 1, 25), 138, 59,
        "right", "ring", "EDC", "V", ACTIVE, "travels", next_visit=6),
    _of("Hana Wickstead", date(1983, 3, 9), 145, 60,
        "right", "index", "EIP", "VI", DYNAMIC, "trouble"),
    _of("Nadia Quill", date(1988, 12, 20), 124, 61,
        "left", "ring", "EDC", "VI", ACTIVE, "stops"),
    _of("Ingrid Mallow", date(1955, 7, 7), 133, 62,
        "left", "small", "EDM", "V", ACTIVE, "phone_dies"),
)  # fmt: skip

# The one whose phone is not paired yet: whoever tries the demo is this patient's phone.
WAITING = _of(
    "Rosa Tillery", date(1986, 5, 17), 151, 76, "left", "middle", "EDC", "VI", ACTIVE, "steady"
)  # fmt: skip


def operated_on(person: Person) -> date:
    """The date of the person's operation."""
    return ENDS.date() - timedelta(days=DAYS - person.operated)


WORKDAYS = "Monday to Friday"
CLOSED = {
    date(2026, 4, 3): "Good Friday",
    date(2026, 4, 6): "Easter Monday",
    date(2026, 5, 4): "bank holiday",
    date(2026, 5, 25): "bank holiday",
}

# As `flask clinic set` reads it.
SETTINGS = {
    "numbers": [
        {"days": WORKDAYS, "from": "08:00", "to": "17:00", "label": "Ring the hand unit",
         "tel": "01632 960 140"},
        {"days": "Monday to Thursday", "from": "17:00", "to": "08:00",
         "label": "Ring the night nurse", "tel": "01632 960 142"},
        {"days": ["Friday"], "from": "17:00", "to": "24:00", "label": "Ring the ward",
         "tel": "01632 960 144"},
        {"days": "Saturday to Sunday", "from": "00:00", "to": "24:00", "label": "Ring the ward",
         "tel": "01632 960 144"},
        {"days": ["Monday"], "from": "00:00", "to": "08:00", "label": "Ring the ward",
         "tel": "01632 960 144"},
    ],
    "emergency": {"label": "White, blue or cold fingers?", "tel": "999"},
    "hours": [{"days": WORKDAYS, "from": "08:00", "to": "17:00"}],
    "closing_days": [{"day": day.isoformat(), "why": why} for day, why in CLOSED.items()],
    "duty": [{"days": WORKDAYS, "from": "08:00", "to": "17:00", "who": "tomas"}],
    "waking": {"wake": "07:00", "sleep": "22:00"},
}  # fmt: skip
