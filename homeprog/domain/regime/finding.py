"""A finding about a regime: what is wrong, where, and what would let it pass."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from ..errors import Invalid

Severity = Literal["refuse", "surgeon_reason", "reason", "warn"]
HowGiven = Literal["note", "letter", "spoken"]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a rule was departed from. A surgeon's reason names the surgeon and how it was given."""

    text: str
    surgeon: str = ""
    how: HowGiven | None = None
    given_on: date | None = None

    @property
    def is_surgeons(self) -> bool:
        return bool(self.text.strip() and self.surgeon.strip() and self.how)


Reasons = Mapping[str, Reason]  # rule -> reason


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding. `rule` is stable: a reason is entered for it."""

    field: str  # path, "phases.1.exercises.0.dose"
    message: str
    severity: Severity
    rule: str
    source: str = ""
    reason: Reason | None = None  # the reason entered for this rule, if any

    @property
    def blocks(self) -> bool:
        """Whether the regime cannot be saved while this stands."""
        if self.severity == "refuse":
            return True
        if self.severity == "surgeon_reason":
            return self.reason is None or not self.reason.is_surgeons
        if self.severity == "reason":
            return self.reason is None or not self.reason.text.strip()
        return False


def blocking(findings: Iterable[Finding]) -> list[Finding]:
    """The findings that keep a regime from being saved."""
    return [f for f in findings if f.blocks]


def refuse_blocked(findings: Iterable[Finding]) -> None:
    """Raise Invalid with every blocking finding under its field; return if there is none."""
    fields: dict[str, list[str]] = {}
    for finding in blocking(findings):
        fields.setdefault(finding.field, []).append(finding.message)
    if fields:
        raise Invalid("regime_refused", "This regime cannot be saved as it stands.", fields)
