"""The phone's plan: everything it shows and asks for, so that it never computes a calendar."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Collection, Iterable, Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from ..domain.course import Worn
from ..domain.hours import Ring
from ..domain.trouble import required_texts
from ..phrases import ENGLISH, LANGUAGES
from ..storage import clinics
from ..storage.courses import closed, courses_of
from ..storage.languages import language_of, languages_on
from ..storage.models import Device, Patient, Quiet, SignedText
from ..storage.plan_stamps import plan_stamp, revision_numbers
from ..storage.quiet import in_force
from ..storage.timelines import zone_at
from .mute_slots import muted_slots
from .plan_course import plan_course
from .plan_figures import without_held
from .plan_rules import plan_rules
from .plan_slots import AHEAD, BACK, Json, iso
from .plan_troubles import told_troubles
from .put_in_words import read_words
from .see_course import Seen, Texts, see
from .words_of import Words, words_of

MADE_BY = "plan 10"  # raise it when this code makes another plan of the same rows


def phone_plan(
    db: Session, device: Device, now: datetime, held: Collection[str] = frozenset()
) -> Json:
    """The plan of the device's patient at `now`; `csrf` and `push` are the edge's to fill in.

    `held`: hashes of the drawings that the phone has and does not need again.
    """
    patient = db.get_one(Patient, device.patient_id)
    clinic = clinics.clinic_of(db, patient.clinic_id)
    seen = _open(db, patient.id, now)
    words = words_of(db, clinic.id, language_of(db, device, now), now)
    texts = clinics.signed_texts(db, clinic.id, words.language, now)
    label_tel = clinics.emergency(db, clinic.id, now)
    muted = muted_slots(db, patient.id, now - BACK, now + AHEAD, now)
    told = clinics.rings(db, clinic.id, now)
    rings = [_ring(each, told, words) for each in told]
    return {
        "version": plan_version(db, patient.id, now),
        "csrf": None,
        "server_time": iso(now),
        "zone": zone_at(db, patient.id, now),
        "language": words.language,
        "words": words.version,
        "languages_offered": _offered(db, clinic.id, now),
        "demo": clinic.demo,
        "clinic": {"name": clinic.name},
        "push": {"key": None},
        "ring": rings,
        "emergency": _emergency(label_tel, words),
        "rules": plan_rules(db, clinic.id, now),
        "texts": _texts(seen, texts),
        "troubles": told_troubles(db, seen, texts, words),
        "quiet": [_quiet(row) for row in in_force(db, patient.id, now)],
        "courses": [
            without_held(plan_course(db, each, texts, words, muted), held) for each in seen
        ],
        "closed": None if seen else _closed(db, patient, rings, words, now),
    }


def plan_version(db: Session, patient_id: uuid.UUID, now: datetime) -> str:
    """The version of the patient's plan, led by the revision of each course it holds.

    It changes with every row the plan is made of and never with the clock alone: standings, and
    slots and days that come and go, leave it as it is.
    """
    rows = [MADE_BY, *plan_stamp(db, patient_id, now)]
    digest = hashlib.sha256("\n".join(rows).encode()).hexdigest()[:16]
    numbers = revision_numbers(db, patient_id, now)
    marks = sorted(f"{course.hex[:8]}r{number}" for course, number in numbers.items())
    return "-".join([*marks, digest])


def revision_said(version: str | None, course_id: uuid.UUID) -> int | None:
    """The number of the course's revision that a plan version stood for; None if it had none."""
    for mark in (version or "").split("-")[:-1]:
        course, _, number = mark.partition("r")
        if course == course_id.hex[:8] and number.isdigit():
            return int(number)
    return None


def _open(db: Session, patient_id: uuid.UUID, now: datetime) -> list[Seen]:
    """The patient's courses that are open at `now`, oldest first."""
    there = [course for course in courses_of(db, patient_id) if course.at <= now]
    return [each for each in (see(db, c, now) for c in there) if each.state != "closed"]


def _offered(db: Session, clinic_id: uuid.UUID, now: datetime) -> list[Json]:
    """The languages a phone may choose from, each by the name its own speakers read."""
    return [{"code": code, "name": LANGUAGES[code]} for code in languages_on(db, clinic_id, now)]


def _emergency(label_tel: tuple[str, str] | None, words: Words) -> Json | None:
    if label_tel is None:
        return None
    return {"label": _labelled("emergency", label_tel[0], words), "tel": label_tel[1]}


def _labelled(whom: str, label: str, words: Words) -> str:
    """The clinic's own label, after words of the phone's language where that is another."""
    if words.language == ENGLISH:
        return label
    return words.say(f"ring.{whom}", {"label": f"\u2068{label}\u2069"})


def _ring(each: Ring, told: Sequence[Ring], words: Words) -> Json:
    """One of the numbers told, and what follows when the clinic stops reading."""
    then = next((ring.tel for ring in told if ring.start == each.until), None)
    return {
        "from": iso(each.start),
        "to": iso(each.end),
        "label": _labelled("clinic", each.label, words),
        "tel": each.tel,
        "read_words": read_words(words.say, each, words.language, then),
    }


def _quiet(row: Quiet) -> Json:
    """A wish for quiet in force, by the id of the item that made it: the phone may end it."""
    return {
        "id": str(row.id),
        "kind": "in_15_minutes" if row.kind == "snooze" else row.kind,
        "until": iso(row.ends) if row.ends else None,
        "weekday": row.weekday,
        "opens": f"{row.opens:%H:%M}" if row.opens else None,
        "closes": f"{row.closes:%H:%M}" if row.closes else None,
        "fewer": row.fewer,
    }


def _worn(seen: Sequence[Seen]) -> list[Worn]:
    """Whose texts a phone holds: what each open course has worn."""
    return list(dict.fromkeys(each.texts_worn for each in seen))


def _texts(seen: Sequence[Seen], texts: Texts) -> Json:
    """The clinic's own signed texts for what is worn."""
    keys: Iterable[str] = (key for worn in _worn(seen) for key in required_texts(worn))
    return {key: _text(texts[key]) for key in keys if key in texts}


def _text(row: SignedText) -> Json:
    return {"title": row.title, "lines": list(row.lines)}


def _closed(
    db: Session, patient: Patient, rings: list[Json], words: Words, now: datetime
) -> Json | None:
    """What a phone says when the last open course is closed; None before the first is opened."""
    ended = [closed(db, course, now) for course in courses_of(db, patient.id)]
    reasons = [event.figures.get("reason") for event in ended if event]
    if not reasons:
        return None
    finished = reasons[-1] == "completed"
    return {
        "words": words.say("closed.finished" if finished else "closed.words"),
        "ring": rings,
    }
