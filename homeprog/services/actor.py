"""Who acts: a staff member, a phone, or the house itself."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import Literal

from ..domain.errors import Forbidden

Role = Literal["enroller", "therapist", "manager"]


@dataclass(frozen=True, slots=True)
class Actor:
    """Whoever a use case is done by, within one clinic."""

    clinic_id: uuid.UUID
    kind: Literal["staff", "device", "system"]
    id: uuid.UUID | None = None  # staff or device id
    role: Role | None = None
    profession: str | None = None  # set on a clinician: hand_therapist, surgeon, ...

    @property
    def clinician(self) -> bool:
        return self.profession is not None


def require_clinician(by: Actor, doing: str) -> None:
    """Raises Forbidden unless a clinician acts. `doing` completes 'Only a clinician may ...'."""
    if not by.clinician:
        raise Forbidden("clinician_only", f"Only a clinician may {doing}.")


def require_role(by: Actor, *roles: Role) -> None:
    """Raises Forbidden unless the staff member has one of the roles."""
    if by.role not in roles:
        raise Forbidden("role", f"This needs the role {' or '.join(roles)}.")
