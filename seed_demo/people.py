"""Who is in the demo clinic: invented staff and patients, plain data. No real people."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Literal
from zoneinfo import ZoneInfo

CLINIC = "Fenbrook Hand Unit"
ZONE = "Europe/London"
ENDS = datetime.combine(date(2026, 6, 5), time(14, 10), ZoneInfo(ZONE))  # a Friday
DAYS = 28

Kind = Literal[
    "steady", "fading", "stops", "over_does", "phone_dies", "travels", "static", "trouble"
]


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


@dataclass(frozen=True)
class Person:
    """One invented patient with one course; days count from the load's first day."""

    name: str
    born: date
    number: str
    tel: str
    operated: int  # day of the load, may be negative
    side: Literal["left", "right"]
    digit: str
    structure: str
    zone: str
    template: str
    kind: Kind
    releases: tuple[tuple[str, int], ...]  # phase, and the course day on which it is released
    seed: int
    next_visit: int | None = None  # days after the load's last
    worn: str = "splint"
    repairs: tuple[tuple[str | None, str, str], ...] = ()  # more than the one
    removal_day: int | None = None  # the surgeon's day for the slab, where the template has none


PEOPLE = (
    Person("Edith Varley", date(1961, 2, 11), "FB 20117", "01632 960 101", -1, "left", "middle",
           "EDC", "VI", "static-then-dynamic", "steady",
           (("static", 4), ("dynamic", 7), ("dynamic_wide", 25)), 11, 3),
    Person("Callum Sorrel", date(1994, 9, 3), "FB 20121", "01632 960 102", 0, "right", "index",
           "EDC", "V", "early-controlled-active", "fading", (("controlled_active", 5),), 12, 4),
    Person("Nadia Quill", date(1988, 12, 20), "FB 20124", "01632 960 103", 5, "left", "ring",
           "EDC", "VI", "early-controlled-active", "stops", (("controlled_active", 5),), 13),
    Person("Bruno Ashdown", date(1979, 4, 30), "FB 20130", "01632 960 104", 3, "right", "middle",
           "EDC", "VI", "static-then-dynamic", "over_does", (("static", 3), ("dynamic", 7)), 14, 5),
    Person("Ingrid Mallow", date(1955, 7, 7), "FB 20133", "01632 960 105", 6, "left", "small",
           "EDM", "V", "early-controlled-active", "phone_dies", (("controlled_active", 5),), 15),
    Person("Priya Tarn", date(1990, 1, 25), "FB 20138", "01632 960 106", 3, "right", "ring",
           "EDC", "V", "early-controlled-active", "travels", (("controlled_active", 7),), 16, 6),
    Person("Owen Reddaway", date(1972, 10, 14), "FB 20140", "01632 960 107", 0, "left", "thumb",
           "EPL", "VII", "static-several-tendons", "static", (("static", 4),), 17, None, "slab",
           (("index", "EDC", "VII"), (None, "ECRL", "VII")), removal_day=21),
    Person("Hana Wickstead", date(1983, 3, 9), "FB 20145", "01632 960 108", 4, "right", "index",
           "EIP", "VI", "static-then-dynamic", "trouble", (("static", 3), ("dynamic", 7)), 18),
)  # fmt: skip

# The one whose phone is not paired yet: whoever tries the demo is this patient's phone.
WAITING = Person(
    "Rosa Tillery", date(1986, 5, 17), "FB 20151", "01632 960 109", 20, "left", "middle", "EDC",
    "VI", "early-controlled-active", "steady", (("controlled_active", 5),), 19,
)  # fmt: skip

WORKDAYS = "Monday to Friday"

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
    "closing_days": [{"day": "2026-05-25", "why": "bank holiday"}],
    "duty": [{"days": WORKDAYS, "from": "08:00", "to": "17:00", "who": "tomas"}],
    "waking": {"wake": "07:00", "sleep": "22:00"},
}  # fmt: skip
