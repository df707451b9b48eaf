"""Send the reminders that have fallen due, each once."""

from __future__ import annotations

import logging
import random
from collections.abc import Callable
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from ..delivery.errors import DeliveryError
from ..delivery.push import Push, Sender
from ..storage import sends
from ..storage.sends import Claim
from .judge_send import Verdict, judge_send

LEASE = timedelta(minutes=2)  # far longer than one send can take
FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(minutes=10)
AFTER_FAULT = timedelta(minutes=5)
FAULTS_BORNE = 6  # tries of a row that raises
AT_MOST = 2000  # rows a call, so that one call comes to an end

log = logging.getLogger(__name__)


def dispatch_due(
    db: Session,
    sender: Sender,
    clock: Callable[[], datetime],
    share: Callable[[], float] = random.random,
    origin: str = "",
) -> int:
    """Claim, judge and send what is due, row by row; the number of rows handled.

    It commits by itself, unlike other services: a claim must be on disk before anything leaves
    the house, and no transaction stays open while a push service answers. `clock` is read for
    each row. `share` gives the jitter, in [0, 1). A tap on a reminder leads to `origin`.
    """
    for handled in range(AT_MOST):
        claim = sends.claim_next(db, clock(), LEASE)
        db.commit()
        if claim is None:
            return handled
        try:
            _serve(db, sender, claim, clock, share, origin)
        except Exception as error:  # one bad row is pushed forward and never stops the loop
            db.rollback()
            log.error("send %s: %s", claim.send_id, type(error).__name__)
            _push_forward(db, claim, clock(), type(error).__name__)
        db.commit()
    return AT_MOST


def retry_at(
    now: datetime, tries: int, wait: timedelta | None, ends_at: datetime, share: float
) -> datetime | None:
    """When to try again after `tries` tries; None when that is no earlier than the slot's end.

    Twice as long each time, jittered; never before the service's own `wait` is over.
    """
    backing_off = min(FIRST_WAIT * 2 ** min(tries - 1, 10), LONGEST_WAIT)
    again = now + (wait or timedelta()) + backing_off * (0.5 + 0.5 * share)
    return again if again < ends_at else None


def _serve(
    db: Session,
    sender: Sender,
    claim: Claim,
    clock: Callable[[], datetime],
    share: Callable[[], float],
    origin: str,
) -> None:
    now = clock()
    verdict = judge_send(db, sends.load(db, claim.send_id), now, origin)
    if verdict.push is None:
        _put_aside(db, claim, verdict, now)
        return
    db.commit()
    try:
        sender.send(verdict.push)
    except DeliveryError as error:
        _not_taken(db, claim, verdict.push, error, verdict.ends_at, clock(), share())
    else:
        sends.settle(db, claim, clock(), "sent", "sent")


def _put_aside(db: Session, claim: Claim, verdict: Verdict, now: datetime) -> None:
    if verdict.later:
        sends.settle(db, claim, now, "due", "snoozed", due_at=verdict.later)
    elif verdict.reason == "muted":
        sends.settle(db, claim, now, "dropped", "muted")
    else:
        sends.settle(db, claim, now, "dropped", "dropped", verdict.reason)


def _not_taken(
    db: Session,
    claim: Claim,
    push: Push,
    error: DeliveryError,
    ends_at: datetime,
    now: datetime,
    share: float,
) -> None:
    if error.gone and push.address:
        sends.end_subscription(db, push.address.endpoint, now)
        sends.settle(db, claim, now, "failed", "gone", error.reason)
    elif error.permanent:
        sends.settle(db, claim, now, "failed", "refused", error.reason)
    elif again := retry_at(now, claim.tries, error.retry_after, ends_at, share):
        sends.settle(db, claim, now, "due", "failed", error.reason, due_at=again)
    else:
        sends.settle(db, claim, now, "failed", "failed", f"{error.reason}, no time left")


def _push_forward(db: Session, claim: Claim, now: datetime, fault: str) -> None:
    """Out of the way for a while; for good when it fails again and again."""
    state = "due" if claim.tries < FAULTS_BORNE else "failed"
    sends.settle(db, claim, now, state, "failed", fault, due_at=now + AFTER_FAULT)
