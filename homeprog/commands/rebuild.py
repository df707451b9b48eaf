"""Commands: rebuild."""

from __future__ import annotations

import click
from flask import Flask

from ..clock import clock
from ..extensions import db
from ..jobs import run_minute
from ..services.rebuild import rebuild
from ..storage.models import Course
from ..storage.summaries import all_course_ids


def register(app: Flask) -> None:
    """Add the command."""
    app.cli.add_command(rebuild_command)


@click.command("rebuild")
def rebuild_command() -> None:
    """Sum up every day of every course anew from what was logged, and say what had differed.

    The minute's jobs run first, so that whatever differs is a fault. Exit 1 if anything did.
    """
    session, now = db.session(), clock().now()
    run_minute(session, now)
    courses = summaries = changed = 0
    for course_id in all_course_ids(session):
        told = rebuild(session, session.get_one(Course, course_id), now)
        session.commit()  # course by course: uploads wait for no more than one
        courses += 1
        summaries += told.summaries
        changed += len(told.changed)
        for day, exercise in told.changed:
            click.echo(f"differed: course {course_id}, {day}, {exercise}")
    click.echo(f"{courses} courses, {summaries} summaries, {changed} had differed.")
    if changed:
        raise SystemExit(1)
