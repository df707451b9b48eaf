"""Every timed job on one page, in the order in which a tick runs them.

One process runs them (`flask dispatch`), never a web worker. The demo runs them with its own now.
"""

from __future__ import annotations

import logging
import uuid
from collections.abc import Callable, Collection, Iterable
from datetime import datetime

from apscheduler.schedulers.blocking import BlockingScheduler
from apscheduler.triggers.interval import IntervalTrigger
from flask import Flask
from sqlalchemy.orm import Session

from .clock import clock
from .config import Config
from .delivery.email import Server
from .delivery.post import sender_for
from .delivery.push import Sender
from .delivery.recorder import ByPhone, NoKeys, Recorder
from .delivery.staff_post import Carriers, email_to_staff, push_to_staff, webhook_to_staff
from .extensions import db as extension
from .services.assess_course import assess_course
from .services.begin_release import lapse_releases
from .services.dispatch_prompts import dispatch_due
from .services.notify_staff import send_notices
from .services.plan_notices import plan_notices
from .services.plan_prompts import plan_prompts
from .services.refresh_line import refresh_line, show_change
from .services.seal_audit import seal_audit
from .services.send_digest import plan_digests
from .services.watch_courses import (
    Unjudged,
    watch_closed,
    watch_course,
    watch_plan,
    watch_silence,
    watch_slots,
)
from .storage.models import Course
from .storage.received import courses_waiting
from .storage.summaries import courses_due
from .storage.watched import Overtaken, courses_opened, line_stands, overtaken

EVERY_SECONDS = 60
DISPATCH_SECONDS = 15  # a reminder that is a minute late is late, and so is word of trouble

log = logging.getLogger(__name__)

Act = Callable[[Session, Course, datetime], object]
Look = Callable[[Session, Course, datetime], list[Unjudged]]


def run_due(
    db: Session,
    now: datetime,
    sender: Sender | None = None,
    carriers: Carriers | None = None,
    origin: str = "",
) -> None:
    """Do everything that is due at `now`, in this order; commits as it goes.

    A course in which something goes wrong is logged and left for the next tick: it never stops
    the others. Without a `sender` only the demo's invented phones are sent anything; without
    `carriers` staff are told nothing. A tap on a reminder leads to `origin`.
    """
    run_minute(db, now)
    dispatch_due(db, sender or ByPhone(NoKeys(), Recorder()), lambda: now, origin=origin)
    if carriers is not None:
        notify(db, carriers, lambda: now)


def run_minute(db: Session, now: datetime) -> None:
    """The jobs of each minute but for sending."""
    news = overtaken(db, now)
    days = {each.course for each in news if each.new_day}
    # A day that begins is due too: what was set or released after bedtime has no summary yet.
    due = sorted(days | {course.id for course in courses_due(db, now)})
    fresh = set(_ids(news))
    failed = sum_up(db, now, due, fresh)
    failed |= _watch(db, now, "watch", sorted(fresh), _look(days))
    failed |= _watch(db, now, "watch slots", sorted(set(due) - fresh), watch_slots)
    opened = _asked(db, now, "clinics", courses_opened)
    failed |= _watch(db, now, "watch silence", opened, watch_silence)
    waiting = _asked(db, now, "changes", courses_waiting)
    failed |= _watch(db, now, "watch changes", waiting, watch_plan)
    _once(db, now, "watch closed", watch_closed)
    _once(db, now, "releases signed ahead", lapse_releases)
    failed |= _each(db, now, "plan reminders", sorted(days), _plan)
    # A slot of today that passes changes no whole day: its course's line stands as it is.
    passed = set(due) - fresh - failed
    _once(db, now, "caseload", lambda s, at: line_stands(s, passed, at))
    _once(db, now, "seal the audit", seal_audit)
    # Last: the line's date is what tells the jobs above that something is new. Where one of them
    # failed, or that came in meanwhile and was not looked at, it stays for the next tick.
    behind, seen = set(_ids(overtaken(db, now))), fresh - failed
    _each(db, now, "caseload", sorted(behind & seen), refresh_line)
    _each(db, now, "caseload", sorted(behind - seen), show_change)


def sum_up(
    db: Session, now: datetime, courses: Iterable[uuid.UUID], fresh: set[uuid.UUID] | None = None
) -> set[uuid.UUID]:
    """Sum up the days that phones have touched, that have begun or of which a slot has passed.

    The courses in which something went wrong. `fresh` gains those that phones had touched: what
    came in after the look for news is news too.
    """

    def one(session: Session, course: Course, at: datetime) -> None:
        if assess_course(session, course, at) and fresh is not None:
            fresh.add(course.id)

    return _each(db, now, "sum up", courses, one)


def notify(db: Session, carriers: Carriers, at: Callable[[], datetime]) -> None:
    """Tell staff: who is first, who is next, the morning digest; then send what is due."""
    now, channels = at(), carriers.channels
    db.commit()
    _once(db, now, "tell staff", lambda s, at: plan_notices(s, at, channels))
    _once(db, now, "digest", lambda s, at: plan_digests(s, at, channels))
    send_notices(db, carriers, at)


def carriers_of(config: Config) -> Carriers:
    """The channels to staff that the configuration names."""
    mail = Server(
        config.smtp_host, int(config.smtp_port), config.smtp_from, config.smtp_user,
        config.smtp_password, config.smtp_starttls,
    )  # fmt: skip
    real = clock().real
    return Carriers(
        push_to_staff(config.instance, config.vapid_subject, real, config.push_extra_origins),
        email_to_staff(mail, config.origin),
        webhook_to_staff(config.webhook_url, config.webhook_secret, real),
    )


def _look(days: Collection[uuid.UUID]) -> Look:
    """The watch of a course in which something is new; `days`: those in which a day has begun."""

    def look(db: Session, course: Course, now: datetime) -> list[Unjudged]:
        return watch_course(db, course, now, course.id in days)

    return look


def _plan(db: Session, course: Course, now: datetime) -> None:
    plan_prompts(db, course.patient_id, now)


def _ids(news: Iterable[Overtaken]) -> list[uuid.UUID]:
    return [each.course for each in news]


def _each(
    db: Session, now: datetime, job: str, courses: Iterable[uuid.UUID], act: Act
) -> set[uuid.UUID]:
    """Do one job for each course, each in a transaction of its own; those in which it failed."""
    db.commit()
    failed = set()
    for course_id in courses:

        def one(session: Session, at: datetime, course_id: uuid.UUID = course_id) -> object:
            return act(session, session.get_one(Course, course_id), at)

        if not _once(db, now, f"{job}, course {course_id}", one):
            failed.add(course_id)
    return failed


def _watch(
    db: Session, now: datetime, job: str, courses: Iterable[uuid.UUID], act: Look
) -> set[uuid.UUID]:
    """The same for the watch: what the other rules found is kept where one fails."""
    failed: set[uuid.UUID] = set()

    def one(session: Session, course: Course, at: datetime) -> None:
        for kinds, error in act(session, course, at):
            failed.add(course.id)
            told = ", ".join(kinds)
            log.error("%s, course %s, %s: %s", job, course.id, told, type(error).__name__)

    return failed | _each(db, now, job, courses, one)


def _asked(
    db: Session, now: datetime, job: str, ask: Callable[[Session, datetime], list[uuid.UUID]]
) -> list[uuid.UUID]:
    """The courses a job is for; none, and logged, where that cannot be known."""
    found: list[uuid.UUID] = []
    _once(db, now, job, lambda session, at: found.extend(ask(session, at)))
    return found


def _once(db: Session, now: datetime, job: str, act: Callable[[Session, datetime], object]) -> bool:
    """Do one job in a transaction of its own; False, and logged, where it failed."""
    try:
        act(db, now)
        db.commit()
        return True
    except Exception as error:  # one bad course never stops the loop; no patient is named
        db.rollback()
        log.error("%s: %s", job, type(error).__name__)
        return False


def run_forever(app: Flask) -> None:
    """Run the jobs until the process is told to end; one process does this."""
    with app.app_context():
        config: Config = app.config["HOMEPROG"]
        at_once = clock().real()
        sender = sender_for(
            config.instance, config.vapid_subject, clock().real, config.push_extra_origins
        )
        carriers = carriers_of(config)
    scheduler = BlockingScheduler(timezone="UTC")
    options = {
        "coalesce": True,
        "max_instances": 1,
        "misfire_grace_time": None,
        "next_run_time": at_once,
    }
    scheduler.add_job(
        in_app(app, lambda db: run_minute(db, clock().now())),
        IntervalTrigger(seconds=EVERY_SECONDS), id="minute", **options,
    )  # fmt: skip
    scheduler.add_job(
        in_app(
            app,
            lambda db: dispatch_due(db, sender, lambda: clock().now(), origin=config.origin),
        ),
        IntervalTrigger(seconds=DISPATCH_SECONDS), id="dispatch", **options,
    )  # fmt: skip
    scheduler.add_job(  # apart: a mail server that does not answer holds up no reminder
        in_app(app, lambda db: notify(db, carriers, lambda: clock().now())),
        IntervalTrigger(seconds=DISPATCH_SECONDS), id="notify", **options,
    )  # fmt: skip
    scheduler.start()


def in_app(app: Flask, job: Callable[[Session], object]) -> Callable[[], None]:
    """The job with the app's clock and a database session of its own."""

    def run() -> None:
        with app.app_context():
            try:
                job(extension.session())
            except Exception as error:  # the database may be away: the next tick tries again
                log.error("jobs: %s", type(error).__name__)

    return run
