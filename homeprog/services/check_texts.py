"""Whether a phone that is paired would hold every text it needs."""

from __future__ import annotations

import uuid
from datetime import datetime

from sqlalchemy.orm import Session

from ..domain.course import Worn
from ..storage import clinics, patients
from ..storage.models import Patient


def unsigned_texts(
    db: Session, patient_id: uuid.UUID, worn: Worn | None, now: datetime
) -> list[str]:
    """The texts for what is to be worn that nobody has signed, a sentence each.

    None are missing while no phone is paired: pairing asks for them.
    """
    if not patients.paired(db, patient_id):
        return []
    patient = db.get_one(Patient, patient_id)
    missing = clinics.missing_texts(db, patient.clinic_id, worn, now)
    return [f"Text not signed: {key}. Sign it first: a phone is paired." for key in missing]
