"""Which lines of the caseload are asked for: by therapist, stage and kind of alert."""

from __future__ import annotations

import uuid
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlalchemy import ColumnElement, ScalarSelect, exists, or_, select

from ..domain.alert import UNSETTLED
from .base import newest_first
from .models import Alert, CaseloadLine, CourseFact

Nobody = Literal["nobody"]
NOBODY: Nobody = "nobody"  # no responsible therapist, or one who does not work here any more
NO_STAGE = "-"  # none is in force yet


@dataclass(frozen=True, slots=True)
class Choice:
    """What is asked for; None: all."""

    therapist: uuid.UUID | Nobody | None = None
    stage: str | None = None  # its name as the line tells it, or NO_STAGE
    kind: str | None = None  # of an alert that is not settled
    working: Collection[uuid.UUID] = ()  # clinicians who work here, for NOBODY


ALL = Choice()


# The name of the stage in force as a line tells it.
STAGE: ColumnElement[str] = CaseloadLine.figures["phase"].as_string()


def conditions(choice: Choice, now: datetime) -> list[ColumnElement[bool]]:
    """What a line of the clinic must fulfil; nothing where all are asked for."""
    found: list[ColumnElement[bool]] = []
    if choice.therapist is not None:
        found.append(_treated_by(choice, now))
    if choice.stage is not None:
        asked = None if choice.stage == NO_STAGE else choice.stage
        found.append(STAGE.is_not_distinct_from(asked))
    if choice.kind is not None:
        found.append(
            exists().where(
                Alert.course_id == CaseloadLine.course_id,
                Alert.kind == choice.kind,
                Alert.state.in_(UNSETTLED),
            )
        )
    return found


def _treated_by(choice: Choice, now: datetime) -> ColumnElement[bool]:
    therapist = responsible(now)
    if choice.therapist == NOBODY:
        names = [str(each) for each in choice.working]
        return or_(therapist.is_(None), therapist.not_in(names))
    return therapist == str(choice.therapist)


def responsible(now: datetime) -> ScalarSelect[str]:
    """The id of a line's responsible therapist, as text: the newest that was entered."""
    return (
        select(CourseFact.value["is"].as_string())
        .where(
            CourseFact.course_id == CaseloadLine.course_id,
            CourseFact.what == "therapist",
            CourseFact.at <= now,
        )
        .order_by(*newest_first(CourseFact))
        .limit(1)
        .correlate(CaseloadLine)
        .scalar_subquery()
    )
