"""What a patient's phone says in English though the patient speaks something else, for staff."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from ..domain.regime import Exercise, Phase, Rehearsal
from ..phrases import ENGLISH, LANGUAGES
from ..storage.languages import phone_language
from ..storage.models import Course, Patient
from ..storage.timelines import phase_in_force
from .words_of import words_of


@dataclass(frozen=True, slots=True)
class InEnglish:
    """Why, and what: None is told where a phone speaks the patient's language whole."""

    language: str  # the patient's, a code such as ar
    on: bool  # its phones speak it; only `sentences` are not in it
    ships: bool  # there is a translation to print beside English
    sentences: tuple[str, ...]  # of the stage in force

    @property
    def name(self) -> str:
        return LANGUAGES.get(self.language, self.language)


def left_in_english(db: Session, course: Course, now: datetime) -> InEnglish | None:
    """What staff go through with an interpreter; None where nothing is left in English."""
    wanted = db.get_one(Patient, course.patient_id).language
    if wanted == ENGLISH:
        return None
    on = phone_language(db, course.clinic_id, wanted, now) == wanted
    phase = phase_in_force(db, course, now)
    words = words_of(db, course.clinic_id, wanted, now)
    lacking = [said for said in told(phase) if not words.knows(said)] if on and phase else []
    if on and not lacking:
        return None
    return InEnglish(wanted, on, wanted in LANGUAGES, tuple(dict.fromkeys(lacking)))


def told(phase: Phase) -> list[str]:
    """Every sentence of a stage that a phone shows."""
    moves: list[Exercise | Rehearsal] = [
        *phase.exercises,
        *([phase.rehearsal] if phase.rehearsal else []),
    ]
    return [
        phase.name, phase.splint.words, phase.wear.words, *phase.cautions, *phase.forbidden,
        *(each.name for each in moves), *(step for each in moves for step in each.steps),
        *(each.with_splint for each in phase.exercises),
    ]  # fmt: skip
