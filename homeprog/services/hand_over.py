"""Hand a phone's place over to the app on its home screen, which shares no storage with the tab."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import update
from sqlalchemy.orm import Session

from ..storage import clinics, patients
from ..storage.models import Device, Pairing
from ..storage.scope import get
from .actor import Actor
from .keep_audit import keep
from .pair_phone import ALPHABET, CODES, HAND_OVER_LENGTH, end_device, hashed


@dataclass(frozen=True, slots=True)
class HandOver:
    """What the phone shows once: it cannot be read again."""

    pairing: Pairing
    code: str  # 'ABCD-EFGH-JKMN', 60 bits, good by itself
    minutes: int


def hand_over(db: Session, by: Actor, real_now: datetime, now: datetime) -> HandOver:
    """A code for the same patient and the same person; this phone's earlier ones end.

    The phone stays paired: it ends when the app that took the code first fetches its plan.
    """
    device = get(db, Device, by.clinic_id, str(by.id))
    db.execute(
        update(Pairing)
        .where(Pairing.from_id == device.id, Pairing.expires_at > real_now)
        .values(expires_at=real_now)
    )
    letters = "".join(secrets.choice(ALPHABET) for _ in range(HAND_OVER_LENGTH))
    minutes = int(clinics.setting(db, by.clinic_id, "pairing_minutes", now))
    pairing = Pairing(
        clinic_id=by.clinic_id, at=now, patient_id=device.patient_id, from_id=device.id,
        secret_hash=hashed(letters), code_hash=CODES.hash(secrets.token_urlsafe(16)),
        expires_at=real_now + timedelta(minutes=minutes),
    )  # fmt: skip
    db.add(pairing)
    keep(db, by, "handed_over", device, now)
    db.flush()
    parts = (letters[at : at + 4] for at in range(0, HAND_OVER_LENGTH, 4))
    return HandOver(pairing, "-".join(parts), minutes)


def end_handed_over(db: Session, device: Device, now: datetime) -> Device | None:
    """End the phone that handed over to this one, now that this one has its plan.

    Not when the code is taken: an answer lost on the way would leave the patient with neither.
    """
    pairing = patients.pairing_of_device(db, device.id)
    if pairing is None or pairing.from_id is None:
        return None
    by = Actor(device.clinic_id, "device", device.id)
    return end_device(db, by, pairing.from_id, "replaced", now)
