"""Commands: check."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import datetime

import click
from flask import Flask, current_app
from sqlalchemy.orm import Session

from ..clock import clock
from ..config import Config
from ..delivery.push_keys import public_key
from ..domain.clock import local
from ..domain.hours import missing_hours
from ..extensions import db, migrate
from ..services.staff_channels import staff_channels
from ..storage import clinics, notices
from ..storage.behind import behind
from ..storage.models import Clinic
from ..storage.reach import NO_ONE, WORDS, rota
from ..storage.schema import schema_fault

Line = tuple[bool, str]  # whether it is in order, and what is said


def register(app: Flask) -> None:
    """Add the command."""
    app.cli.add_command(check)


@click.command("check")
def check() -> None:
    """Say, a line each, whether configuration, database, keys, numbers and texts are in order.

    Exit 1 on a fault. A configuration that is refused is told before this runs.
    """
    config: Config = current_app.config["HOMEPROG"]
    lines = [*_house(config, db.session())]
    if all(good for good, _ in lines[:2]):  # without its tables nothing can be asked
        lines += _clinics(db.session(), clock().now(), _channels(config))
    for good, words in lines:
        click.echo(f"{'ok   ' if good else 'FAULT'} {words}")
    if not all(good for good, _ in lines):
        raise SystemExit(1)


def _house(config: Config, session: Session) -> Iterator[Line]:
    faults = config.faults()
    yield not faults, f"configuration: {'; '.join(faults) or f'{config.mode}, {config.origin}'}"
    yield _database(session)
    made = public_key(config.instance) is not None
    yield made, f"keys: {'VAPID keys are there' if made else 'run `flask vapid keys`'}"
    here = sorted(_channels(config))
    yield True, f"channels to staff: {', '.join(WORDS[each] for each in here) or 'none'}"


def _database(session: Session) -> Line:
    if fault := schema_fault(session.connection(), migrate.directory):
        return False, f"database: {fault}"
    return True, f"database: {session.get_bind().dialect.name}, at head"


def _clinics(session: Session, now: datetime, channels: Collection[str]) -> Iterator[Line]:
    found = clinics.all_clinics(session)
    if not found:
        yield False, "clinics: none yet; run `flask clinic add`"
    for clinic in found:
        yield _numbers(session, clinic, now)
        yield _texts(session, clinic, now)
        yield _duty(session, clinic, now)
        yield from _failing(session, clinic, now)
        yield from _behind(session, clinic, now)
        yield True, f"{clinic.name}: {_woken(session, clinic, now, channels)}"


def _numbers(session: Session, clinic: Clinic, now: datetime) -> Line:
    gaps = [gap.words for gap in missing_hours(clinics.numbers(session, clinic.id, now))]
    if clinics.emergency(session, clinic.id, now) is None:
        gaps.append("no emergency number")
    if gaps:
        return False, f"{clinic.name}: no number to ring: {', '.join(gaps)}"
    return True, f"{clinic.name}: numbers for every hour"


def _texts(session: Session, clinic: Clinic, now: datetime) -> Line:
    missing = clinics.missing_texts(session, clinic.id, None, now)
    if missing:
        return False, f"{clinic.name}: {len(missing)} texts not signed: {', '.join(missing)}"
    return True, f"{clinic.name}: texts signed"


def _duty(session: Session, clinic: Clinic, now: datetime) -> Line:
    """Hours without anyone are allowed, and said: the phone then says 'ring'."""
    named = [hours for hours in clinics.duty(session, clinic.id, now) if hours.who]
    nobody = ", ".join(gap.words for gap in missing_hours(named))
    if not named:
        return True, f"{clinic.name}: nobody is on duty for trouble at any hour"
    return True, f"{clinic.name}: nobody on duty for trouble: {nobody or 'at no hour'}"


def _channels(config: Config) -> Collection[str]:
    return staff_channels(config.instance, config.smtp_host, config.webhook_url)


def _failing(session: Session, clinic: Clinic, now: datetime) -> Iterator[Line]:
    for each in notices.failing(session, clinic.id, now):
        since = f"{local(each.since, clinic.zone):%d %B %H:%M}"
        yield False, f"{clinic.name}: {each.words} {since}: {each.detail}"


def _behind(session: Session, clinic: Clinic, now: datetime) -> Iterator[Line]:
    """Courses the minute's jobs do not get to: they do not run, or fail there."""
    if waits := behind(session, clinic.id, now):
        since = f"{local(min(waits.values()), clinic.zone):%d %B %H:%M}"
        courses = "1 course" if len(waits) == 1 else f"{len(waits)} courses"
        said = f"{courses} not looked at, the first since {since}"
        yield False, f"{clinic.name}: {said}: is `flask dispatch` running? See its log"


def _woken(session: Session, clinic: Clinic, now: datetime, channels: Collection[str]) -> str:
    """Who of the rota is woken in their hours; the sentence where nobody is."""
    people = rota(session, clinic.id, now, channels)
    reached = [each.words for each in people if each.ways]
    left = [each.name for each in people if not each.ways]
    if not reached:
        return NO_ONE
    said = f"woken when on duty: {'; '.join(reached)}"
    return f"{said}; no channel reaches {', '.join(left)}" if left else said
