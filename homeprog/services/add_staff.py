"""Add a staff member, with a one-time password."""

from __future__ import annotations

import re
import secrets
import unicodedata
from datetime import datetime
from typing import get_args

from sqlalchemy.orm import Session

from ..domain.errors import Invalid
from ..storage import staff as stored
from ..storage.models import Clinic, Staff, StaffMark
from .actor import Actor, Role
from .keep_audit import keep
from .sign_in import end_all, hash_password

PROFESSIONS = ("hand_therapist", "surgeon", "nurse", "physician")
LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"  # none that is read as another


def add_staff(
    db: Session,
    clinic: Clinic,
    name: str,
    role: str,
    profession: str | None,
    now: datetime,
    password: str | None = None,
    must_change: bool = True,
    sign_in: str | None = None,
) -> tuple[Staff, str]:
    """The staff member and the password, shown once; a profession makes a clinician.

    Invalid, a message a field. A surgeon who signs in has the role therapist.
    """
    if faults := staff_faults(name, role, profession):
        raise Invalid("staff", "The staff member was not added.", faults)
    password = password or one_time_password()
    who = Staff(
        clinic_id=clinic.id, at=now, name=name.strip(), role=role, must_change=must_change,
        sign_in=_free(db, sign_in or name), password_hash=hash_password(password),
    )  # fmt: skip
    db.add(who)
    db.flush()
    if profession:
        mark = StaffMark(
            clinic_id=clinic.id, at=now, staff_id=who.id, profession=profession, valid_from=now
        )
        db.add(mark)
    keep(db, Actor(clinic.id, "system"), "staff_added", who, now)
    db.flush()
    return who, password


def staff_faults(name: str, role: str, profession: str | None) -> dict[str, list[str]]:
    """What is wrong with a name, role and profession; a message a field."""
    faults: dict[str, list[str]] = {}
    if not name.strip():
        faults["name"] = ["Say the name."]
    if role not in get_args(Role):
        faults["role"] = [f"The role is one of {', '.join(get_args(Role))}."]
    if profession is not None and profession not in PROFESSIONS:
        faults["profession"] = [f"The profession is one of {', '.join(PROFESSIONS)}."]
    if profession == "surgeon" and role != "therapist":
        faults["role"] = ["A surgeon who signs in has the role therapist."]
    return faults


def renew_password(db: Session, who: Staff, now: datetime, real_now: datetime) -> str:
    """A new one-time password for somebody who forgot theirs; all their sign-ins end."""
    password = one_time_password()
    who.password_hash, who.must_change = hash_password(password), True
    end_all(db, who, real_now)
    keep(db, Actor(who.clinic_id, "system"), "password_renewed", who, now)
    return password


def one_time_password() -> str:
    """20 letters in five groups: 99 bits."""
    groups = ("".join(secrets.choice(LETTERS) for _ in range(4)) for _ in range(5))
    return "-".join(groups)


def _free(db: Session, name: str) -> str:
    """'anna.berg', or 'anna.berg2' where that is taken."""
    bare = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    base = ".".join(re.findall(r"[a-z0-9]+", bare)) or "staff"
    tries = 1
    while stored.by_sign_in(db, wanted := base if tries == 1 else f"{base}{tries}"):
        tries += 1
    return wanted
