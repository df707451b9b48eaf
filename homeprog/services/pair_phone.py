"""Pair a phone with a patient: invite, claim, end."""

from __future__ import annotations

import hmac
import secrets
import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Literal, cast

from argon2 import PasswordHasher
from argon2.exceptions import VerifyMismatchError
from sqlalchemy import update
from sqlalchemy.orm import Session

from ..domain.errors import Conflict, HomeprogError
from ..storage import clinics, courses, patients
from ..storage.models import Device, Pairing, Patient, Task
from ..storage.scope import get
from .actor import Actor
from .assess_course import assess_course
from .keep_audit import keep

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # Crockford's base32: no I, L, O, U
CODE_LENGTH = 8  # 40 bits
HAND_OVER_LENGTH = 12  # 60 bits: looked up by its hash, without a number beside it
MOST_TRIES = 5
FIRST_VISIT = "pair_at_first_visit"
CODES = PasswordHasher(time_cost=2, memory_cost=19456, parallelism=1)  # OWASP's least, argon2id

Whose = Literal["patient", "carer"]


class PairingUnknown(HomeprogError):
    status = 404

    def __init__(self) -> None:
        super().__init__("pairing_unknown", "This code is not known. Check it, or ask for another.")


class PairingGone(HomeprogError):
    """`code` is pairing_used or pairing_expired."""

    status = 410

    def __init__(self, how: Literal["used", "expired"]) -> None:
        super().__init__(f"pairing_{how}", f"This code is {how}. Ask the clinic for a new one.")


@dataclass(frozen=True, slots=True)
class Invitation:
    """What is shown once: neither secret nor code can be read again."""

    pairing: Pairing
    secret: str  # 128 bits, for the link's fragment
    code: str  # 'ABCD-EFGH', typed beside the patient's number

    def link(self, origin: str) -> str:
        """The link of the QR code; the fragment never leaves the browser."""
        return f"{origin}/phone/#pair={self.secret}"


def missing_for_pairing(db: Session, patient: Patient, now: datetime) -> list[str]:
    """What stands in the way of pairing this patient's phone, a sentence each."""
    open_now = courses.open_courses_of(db, patient.id)
    missing = [] if open_now else ["The patient has no open course."]
    if patients.number_of(db, patient.id) is None:
        missing.append("The patient has no number.")
    if patients.consent(db, patient.id, now) is None:
        missing.append("Consent is not recorded.")
    worn = {courses.facts_in_force(db, c, now).get("worn") for c in open_now} or {None}
    for each in sorted(worn, key=str):
        missing += clinics.missing_for_phones(db, patient.clinic_id, each, now)
    return list(dict.fromkeys(missing))


def create_pairing(
    db: Session, by: Actor, patient_id: uuid.UUID | str, real_now: datetime, now: datetime
) -> Invitation:
    """A new invitation; the patient's earlier ones end. Conflict, in `fields`, on what is missing.

    It expires by `real_now` (10 minutes, a clinic setting), also in the demo.
    """
    patient = get(db, Patient, by.clinic_id, patient_id)
    if missing := missing_for_pairing(db, patient, now):
        raise Conflict("pairing_refused", "A phone cannot be paired yet.", {"missing": missing})
    db.execute(
        update(Pairing)
        .where(Pairing.patient_id == patient.id, Pairing.expires_at > real_now)
        .values(expires_at=real_now)
    )
    secret = secrets.token_urlsafe(16)
    letters = "".join(secrets.choice(ALPHABET) for _ in range(CODE_LENGTH))
    minutes = int(clinics.setting(db, by.clinic_id, "pairing_minutes", now))
    pairing = Pairing(
        clinic_id=by.clinic_id, at=now, patient_id=patient.id, by_id=by.id,
        secret_hash=hashed(secret), code_hash=CODES.hash(letters),
        expires_at=real_now + timedelta(minutes=minutes),
    )  # fmt: skip
    db.add(pairing)
    keep(db, by, "invited_phone", patient, now)
    db.flush()
    return Invitation(pairing, secret, f"{letters[:4]}-{letters[4:]}")


def claim_pairing(
    db: Session,
    *,
    secret: str | None = None,
    code: str | None = None,
    number: str | None = None,
    device_name: str,
    whose: Whose,
    secret_key: str,
    real_now: datetime,
    now: datetime,
) -> tuple[Device, str, str]:
    """The phone, its token (only its hash is kept) and its CSRF word.

    By `secret`, by `code` with the patient's `number`, or by the code another phone of theirs
    handed over, which is whose that one is. Raises PairingUnknown, PairingGone.
    """
    if code and not number:
        secret = plain_code(code)
    pairing = _by_secret(db, secret) if secret else _by_code(db, code or "", number or "", real_now)
    _take(db, pairing, real_now)
    if pairing.from_id is not None:
        whose = cast(Whose, db.get_one(Device, pairing.from_id).whose)
    token = secrets.token_urlsafe(32)
    device = Device(
        clinic_id=pairing.clinic_id, at=now, patient_id=pairing.patient_id, whose=whose,
        name=device_name[:80], token_hash=hashed(token), last_seen=now,
    )  # fmt: skip
    db.add(device)
    db.flush()
    pairing.device_id = device.id
    _end_visit_task(db, device, now)
    keep(db, Actor(device.clinic_id, "device", device.id), "paired", device, now)
    db.flush()
    return device, token, csrf_for(hashed(token), secret_key)


def _by_secret(db: Session, secret: str) -> Pairing:
    found = patients.pairing_by_secret(db, hashed(secret))
    if found is None:
        raise PairingUnknown
    if found.used_at is None and (found.tries >= MOST_TRIES or _giver_ended(db, found)):
        raise PairingGone("expired")
    return found


def _giver_ended(db: Session, pairing: Pairing) -> bool:
    """Whether the phone that handed over is itself no longer paired: taken away, say."""
    giver = db.get(Device, pairing.from_id) if pairing.from_id else None
    return giver is not None and giver.ended_at is not None


def _by_code(db: Session, code: str, number: str, real_now: datetime) -> Pairing:
    letters = plain_code(code)
    holders = [p.id for p in patients.with_number(db, None, number)]
    pairings = [p for p in patients.pairings_of(db, holders) if p.from_id is None]
    live = [p for p in pairings if p.used_at is None and p.expires_at > real_now]
    tried = [p for p in live if _count_try(db, p)]
    db.commit()  # before the look: a try counts although a refusal is rolled back
    over = [p for p in pairings if p not in live]  # so that a late code is told it is late
    for pairing in tried or over[:1]:
        if _fits(pairing, letters):
            return pairing
    if live and not tried:
        raise PairingGone("expired")
    raise PairingUnknown


def _count_try(db: Session, pairing: Pairing) -> bool:
    """Whether a try was left; counted by the database, so that tries at once count each."""
    counted = db.execute(
        update(Pairing)
        .where(Pairing.id == pairing.id, Pairing.tries < MOST_TRIES)
        .values(tries=Pairing.tries + 1)
    )
    return counted.rowcount == 1  # type: ignore[attr-defined, no-any-return]


def _fits(pairing: Pairing, letters: str) -> bool:
    try:
        return CODES.verify(pairing.code_hash, letters)
    except VerifyMismatchError:
        return False


def _take(db: Session, pairing: Pairing, real_now: datetime) -> None:
    """Use it up; of two phones that claim at once the database lets one through."""
    if pairing.used_at is not None:
        raise PairingGone("used")
    if pairing.expires_at <= real_now:
        raise PairingGone("expired")
    taken = db.execute(
        update(Pairing)
        .where(Pairing.id == pairing.id, Pairing.used_at.is_(None))
        .values(used_at=real_now)
    )
    if taken.rowcount != 1:  # type: ignore[attr-defined]
        raise PairingGone("used")


def _end_visit_task(db: Session, device: Device, now: datetime) -> None:
    for course in courses.open_courses_of(db, device.patient_id):
        for task in courses.open_tasks(db, course, FIRST_VISIT):
            task.done_at = now


def pair_at_first_visit(db: Session, by: Actor, course_id: uuid.UUID | str, now: datetime) -> Task:
    """Put the pairing off to the first therapy visit, as a task; a second tap changes nothing."""
    course = courses.by_id(db, by.clinic_id, course_id)
    if waiting := courses.open_tasks(db, course, FIRST_VISIT):
        return waiting[0]
    task = Task(
        clinic_id=by.clinic_id, at=now, course_id=course.id, kind=FIRST_VISIT,
        words="Pair the phone at the first therapy visit.", due_at=now,
    )  # fmt: skip
    db.add(task)
    db.flush()
    return task


def end_device(
    db: Session,
    by: Actor,
    device_id: uuid.UUID | str,
    how: Literal["unpaired", "revoked", "replaced"],
    now: datetime,
) -> Device:
    """End a phone's pairing, by the phone itself or by staff; ending it twice changes nothing."""
    device = get(db, Device, by.clinic_id, device_id)
    if device.ended_at is None:
        device.ended_at, device.ended_how = now, how
        keep(db, by, f"phone_{how}", device, now)
        db.flush()
        for course in courses.open_courses_of(db, device.patient_id):
            assess_course(db, course, now)  # no slot waits for its word any more
    return device


def hashed(token: str) -> bytes:
    """SHA-256: a secret of 128 bits and more needs no slow hash."""
    return sha256(token.encode()).digest()


def csrf_for(token_hash: bytes, secret_key: str) -> str:
    """The CSRF word of the phone that holds this token; the same until it is paired anew."""
    return hmac.new(secret_key.encode(), b"phone csrf" + token_hash, sha256).hexdigest()


def plain_code(code: str) -> str:
    """A typed code as it was made: capitals, no dash, O read as 0, I and L as 1."""
    typed = "".join(c for c in code.upper() if c.isalnum())
    return typed.translate(str.maketrans("OIL", "011"))
