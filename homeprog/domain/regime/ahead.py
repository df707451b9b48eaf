"""A release signed ahead: what makes it lapse before it has begun."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

Ground = Literal[
    "trouble",  # a report of trouble, or exercise logged while stopped, that nobody has settled
    "held",  # exercises are off, or facts were corrected: a clinician looks again
    "not_lifting",  # a 'no' about lifting in the daily check
    "splint_missing",  # off now and will not go back
    "said_wrong",  # the patient answered that something is wrong since the visit
    "regime_changed",  # the revision it was signed under, or its stage, is gone
    "no_contact",
]


@dataclass(frozen=True, slots=True)
class Since:
    """What has become known since a release was signed ahead."""

    begins: datetime  # the waking of its day, the earliest instant at which it may begin
    last_word: datetime | None  # of any phone of the patient, or of the patient by telephone
    trouble: bool = False
    held: bool = False
    not_lifting: bool = False
    splint_missing: bool = False
    regime_changed: bool = False


def lapses(since: Since, now: datetime, no_contact: timedelta) -> Ground | None:
    """The ground on which it lapses at `now`, the gravest first; None while it stands.

    Silence counts from its day on: `no_contact` (72 h) after the last word, never earlier.
    """
    told: tuple[tuple[Ground, bool], ...] = (
        ("trouble", since.trouble),
        ("not_lifting", since.not_lifting),
        ("splint_missing", since.splint_missing),
        ("held", since.held),
        ("regime_changed", since.regime_changed),
        ("no_contact", now - max(since.begins, since.last_word or since.begins) > no_contact),
    )
    return next((ground for ground, holds in told if holds), None)
