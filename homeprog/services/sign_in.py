"""Staff sign in, sign out and change their password. All instants here are real time."""

from __future__ import annotations

import secrets
import uuid
from datetime import datetime, timedelta
from functools import lru_cache
from hashlib import sha256

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerifyMismatchError
from sqlalchemy import update
from sqlalchemy.orm import Session

from ..domain.errors import Invalid
from ..storage import clinics
from ..storage import staff as stored
from ..storage.models import Clinic, Staff, StaffSession

LEAST_LETTERS = 12
SEEN_EVERY = timedelta(minutes=2)
_passwords = PasswordHasher()  # argon2id, RFC 9106's low-memory choice


def hash_password(password: str) -> str:
    """The argon2id hash that is kept."""
    return _passwords.hash(password)


def hashed(token: str) -> bytes:
    """What is kept of a cookie's secret (256 bits: no slow hash needed)."""
    return sha256(token.encode()).digest()


def sign_in(
    db: Session, name: str, password: str, real_now: datetime, replacing: str | None = None
) -> tuple[StaffSession, str]:
    """A new sign-in and the cookie's secret; `replacing` ends the sign-in of an older cookie.

    Raises Invalid, the same for an unknown name, a wrong password and somebody who has left.
    """
    who = stored.by_sign_in(db, name)
    known = _fits(who.password_hash if who else _nobody(), password)
    if who is None or not known or (who.ended_at and who.ended_at <= real_now):
        raise Invalid("wrong_sign_in", "Name or password is wrong.")
    if _passwords.check_needs_rehash(who.password_hash):
        who.password_hash = hash_password(password)
    if replacing:
        end_sign_in(db, replacing, real_now)
    return _new_sign_in(db, who, real_now)


def _new_sign_in(db: Session, who: Staff, real_now: datetime) -> tuple[StaffSession, str]:
    token = secrets.token_urlsafe(32)
    hours = int(clinics.setting(db, who.clinic_id, "sign_in_hours", real_now))
    row = StaffSession(
        clinic_id=who.clinic_id, at=real_now, staff_id=who.id, token_hash=hashed(token),
        last_seen=real_now, expires_at=real_now + timedelta(hours=hours),
    )  # fmt: skip
    db.add(row)
    db.flush()
    return row, token


def _fits(kept: str, password: str) -> bool:
    try:
        return _passwords.verify(kept, password)
    except (VerifyMismatchError, InvalidHashError):
        return False


@lru_cache(maxsize=1)
def _nobody() -> str:
    """A hash to try against when the name is unknown, so that the answer takes as long."""
    return hash_password(secrets.token_urlsafe(16))


def signed_in(
    db: Session, token: str, real_now: datetime
) -> tuple[StaffSession, Staff, Clinic] | None:
    """The sign-in of a cookie's secret; None when it has ended, expired or lain idle."""
    found = stored.sign_in_of(db, hashed(token), real_now)
    if found is None:
        return None
    row = found[0]
    idle = int(clinics.setting(db, row.clinic_id, "sign_in_idle_minutes", real_now))
    return None if real_now - row.last_seen > timedelta(minutes=idle) else found


def seen(db: Session, row_id: uuid.UUID, real_now: datetime) -> None:
    """Note that a page was asked for; at most once in 2 minutes by the caller's check."""
    db.execute(update(StaffSession).where(StaffSession.id == row_id).values(last_seen=real_now))


def end_sign_in(db: Session, token: str, real_now: datetime) -> None:
    """Sign out; an unknown secret changes nothing."""
    found = stored.sign_in_of(db, hashed(token), real_now)
    if found is not None:
        found[0].ended_at = real_now
        db.flush()


def change_password(
    db: Session, who: Staff, present: str, new: str, again: str, real_now: datetime
) -> tuple[StaffSession, str]:
    """Change it and sign in anew; all their other sign-ins end. Invalid, a message a field."""
    faults: dict[str, list[str]] = {}
    if not _fits(who.password_hash, present):
        faults["present"] = ["This is not your present password."]
    if len(new) < LEAST_LETTERS:
        faults["new"] = [f"Use at least {LEAST_LETTERS} characters; a short sentence is good."]
    elif new == present:
        faults["new"] = ["Choose another one than the present password."]
    if new != again:
        faults["again"] = ["The two do not match."]
    if faults:
        raise Invalid("password", "The password was not changed.", faults)
    who.password_hash, who.must_change = hash_password(new), False
    end_all(db, who, real_now)
    return _new_sign_in(db, who, real_now)


def end_all(db: Session, who: Staff, real_now: datetime) -> None:
    """End every sign-in of theirs."""
    db.execute(
        update(StaffSession)
        .where(StaffSession.staff_id == who.id, StaffSession.ended_at.is_(None))
        .values(ended_at=real_now)
    )
