"""Send the notices to staff that are due, each once; a failing channel holds up no other."""

from __future__ import annotations

import logging
import random
from collections.abc import Callable
from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from ..delivery.errors import DeliveryError
from ..delivery.notice import Notice as Message
from ..delivery.push import Address
from ..delivery.staff_post import Carriers
from ..domain.alert.kinds import is_trouble
from ..domain.alert.settings import in_quiet
from ..domain.clock import local
from ..storage import alert_settings, clinics, notices
from ..storage.models import Alert, AlertEvent, Notice, Staff, StaffSubscription
from ..storage.notices import Claim
from ..storage.staff import profession

LEASE = timedelta(minutes=2)  # far longer than one send can take
FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(minutes=15)
MOST_TRIES = 12  # about two hours; whoever is next has been told long before
QUIET_WAIT = timedelta(minutes=15)
AT_MOST = 500  # notices a pass, so that one pass comes to an end
ONE_SERVER = frozenset({"email", "webhook"})  # one failure: the others would wait as long

log = logging.getLogger(__name__)
Clock = Callable[[], datetime]


def send_notices(
    db: Session,
    carriers: Carriers,
    clock: Clock,
    share: Callable[[], float] = random.random,
) -> int:
    """Claim, judge and send what is due, notice by notice; the number handled.

    It commits by itself: a claim must be on disk before anything leaves the house, and no
    transaction stays open while a server answers. A channel of one server that fails is left
    alone for the rest of the pass, so that the notices of the others do not wait for it.
    """
    down: set[str] = set()
    for handled in range(AT_MOST):
        claim = notices.claim_next(db, clock(), LEASE, down)
        db.commit()
        if claim is None:
            return handled
        try:
            if not _serve(db, carriers, claim, clock, share()) and claim.channel in ONE_SERVER:
                down.add(claim.channel)
        except Exception as error:  # one bad row is pushed forward and never stops the loop
            db.rollback()
            log.error("notice %s: %s", claim.id, type(error).__name__)
            _try_later(db, claim, type(error).__name__, clock(), share())
        db.commit()
    return AT_MOST


def _serve(db: Session, carriers: Carriers, claim: Claim, clock: Clock, share: float) -> bool:
    """False if the channel failed in a way that another notice would meet too."""
    row, now = db.get_one(Notice, claim.id), clock()
    if reason := _unwanted(db, row, now):
        notices.settle(db, claim, "dropped", reason)
        return True
    if _quiet(db, row, now):
        notices.settle(db, claim, "due", "quiet hours", due_at=now + QUIET_WAIT, untried=True)
        return True
    to, message = _address(db, row), message_of(row)
    db.commit()
    try:
        carriers.carry(claim.channel, to, message)
    except DeliveryError as error:
        return _not_taken(db, claim, error, clock(), share)
    if notices.settle(db, claim, "sent", "sent"):
        notices.keep_try(db, row, "sent", None, clock())
    return True


def _not_taken(
    db: Session, claim: Claim, error: DeliveryError, now: datetime, share: float
) -> bool:
    row = db.get_one(Notice, claim.id)
    log.warning("notice %s by %s: %s", row.id, row.channel, error.reason)
    if error.gone:
        _end_subscription(db, row, now)
    notices.keep_try(db, row, "gone" if error.gone else "failed", error.reason, now)
    if error.permanent:
        notices.settle(db, claim, "failed", error.reason)
    else:
        _try_later(db, claim, error.reason, now, share, error.retry_after)
    return error.permanent


def _try_later(
    db: Session,
    claim: Claim,
    reason: str,
    now: datetime,
    share: float,
    wait: timedelta | None = None,
) -> None:
    """Twice as long each time, jittered; given up after MOST_TRIES."""
    state = "due" if claim.tries < MOST_TRIES else "failed"
    backing_off = min(FIRST_WAIT * 2 ** min(claim.tries - 1, 10), LONGEST_WAIT)
    again = now + (wait or timedelta()) + backing_off * (0.5 + 0.5 * share)
    notices.settle(db, claim, state, reason, due_at=again)


def _unwanted(db: Session, row: Notice, now: datetime) -> str | None:
    """Why it is no longer to be sent, by what holds now."""
    who = db.get_one(Staff, row.staff_id)
    if who.ended_at is not None and who.ended_at <= now:
        return "no longer works here"
    if row.alert_id is None:
        return None
    alert = db.get_one(Alert, row.alert_id, populate_existing=True)
    if alert.level != row.level:
        return "has become worse since"
    if alert.state == "open" or (alert.state == "taken_up" and _still(db, row, alert, now)):
        return None
    return alert.state.replace("_", " ")


def _still(db: Session, row: Notice, alert: Alert, now: datetime) -> bool:
    """Whether it tells the one who took the alert up that it has become worse since, or of
    trouble that no clinician has in hand."""
    by = db.scalars(
        select(AlertEvent.by_id)
        .where(AlertEvent.alert_id == row.alert_id, AlertEvent.what == "taken_up")
        .order_by(AlertEvent.at.desc())
        .limit(1)
    ).first()
    if is_trouble(alert.kind) and (by is None or profession(db, by, now) is None):
        return True
    return row.why == "raised" and by == row.staff_id


def _quiet(db: Session, row: Notice, now: datetime) -> bool:
    alert = db.get(Alert, row.alert_id) if row.alert_id else None
    if alert is None or is_trouble(alert.kind):
        return False
    setting = alert_settings.setting_of(db, row.clinic_id, alert.kind, now)
    zone = clinics.clinic_of(db, row.clinic_id).zone
    return in_quiet(setting, local(now, zone).time())


def _address(db: Session, row: Notice) -> Address | str | None:
    if row.channel == "email":
        return db.get_one(Staff, row.staff_id).email
    kept = db.get(StaffSubscription, row.subscription_id) if row.subscription_id else None
    if kept is None or kept.dead_at is not None or kept.staff_id != row.staff_id:
        return None
    return Address(kept.endpoint, kept.p256dh, kept.auth)


def message_of(row: Notice) -> Message:
    """What leaves the house of a notice."""
    return Message(
        id=row.id, clinic=row.clinic_id, staff=row.staff_id, level=row.level, alert=row.alert_id,
        count=len(row.alerts) or 1, at=row.at,
    )  # fmt: skip


def _end_subscription(db: Session, row: Notice, now: datetime) -> None:
    kept = db.get(StaffSubscription, row.subscription_id) if row.subscription_id else None
    if kept is not None and kept.dead_at is None:
        kept.dead_at = now
