"""flask check and flask rebuild, as somebody who runs the house sees them."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from flask import Flask
from sqlalchemy import select

from homeprog.clock import clock
from homeprog.delivery.push_keys import make_once
from homeprog.extensions import db, migrate
from homeprog.services.assess_course import assess_course
from homeprog.services.refresh_line import refresh_line
from homeprog.storage.models import ClinicHours, DaySummaryRow, Number
from homeprog.storage.reach import NO_ONE
from tests import cast
from tests.services import prompt_cast as p


@pytest.fixture
def house(app: Flask) -> Flask:
    """A house that is in order."""
    session, now = db.session(), clock().now()
    by = cast.staff(session, cast.clinic(session, now), now)
    cast.signed(session, by, now)
    session.commit()
    at_head()
    make_once(app.config["HOMEPROG"].instance)
    return app


def at_head() -> None:
    """Say of the schema, laid from the models, that it is that of the newest migration."""
    scripts = ScriptDirectory.from_config(migrate.get_config())
    head = scripts.get_current_head()
    assert head is not None
    MigrationContext.configure(db.session.connection()).stamp(scripts, head)
    db.session.commit()


def check(app: Flask) -> tuple[int, list[str]]:
    result = app.test_cli_runner().invoke(args=["check"])
    return result.exit_code, result.output.splitlines()


def test_a_house_in_order_says_so_a_line_each(house: Flask) -> None:
    code, lines = check(house)
    assert code == 0
    assert [line.split(":")[0] for line in lines] == [
        "ok    configuration",
        "ok    database",
        "ok    keys",
        "ok    channels to staff",
        "ok    Harbour Hand Unit",
        "ok    Harbour Hand Unit",
        "ok    Harbour Hand Unit",
        "ok    Harbour Hand Unit",
    ]
    assert lines[-1] == f"ok    Harbour Hand Unit: {NO_ONE}"


def test_who_is_woken_is_said_by_name_once_a_channel_reaches_somebody_on_the_rota(
    house: Flask,
) -> None:
    by = db.session.scalars(select(cast.Staff)).one()
    cast.on_duty(db.session(), by, clock().now())
    by.email = "anna@unit.example"
    db.session.commit()
    assert check(house)[1][-1].endswith(NO_ONE)  # an address, and no mail server
    config = replace(house.config["HOMEPROG"], smtp_host="127.0.0.1", smtp_from="h@unit.example")
    house.config["HOMEPROG"] = config
    code, lines = check(house)
    assert (code, lines[-1]) == (
        0, "ok    Harbour Hand Unit: woken when on duty: Anna Berg (e-mail)",
    )  # fmt: skip
    assert "ok    channels to staff: e-mail, web push" in lines


def test_a_course_the_jobs_do_not_get_to_is_a_fault(house: Flask) -> None:
    session, now = db.session(), clock().now()
    course = cast.enrolled(session, session.scalars(select(cast.Staff)).one(), now)
    line = refresh_line(session, course, now)
    assert line is not None
    line.next_at = now - timedelta(minutes=20)
    session.commit()
    code, lines = check(house)
    assert code == 1
    (said,) = [each for each in lines if "not looked at" in each]
    assert said.startswith("FAULT Harbour Hand Unit: 1 course not looked at, the first since ")
    assert said.endswith("is `flask dispatch` running? See its log")


def test_an_hour_without_a_number_is_a_fault(house: Flask) -> None:
    tuesday = db.session.scalars(
        select(Number).where(Number.weekday == 1, Number.kind == "clinic")
    ).one()
    db.session.delete(tuesday)
    db.session.commit()
    code, lines = check(house)
    assert code == 1
    assert "FAULT Harbour Hand Unit: no number to ring: Tuesday 00:00 to 24:00" in lines


def test_a_text_not_signed_is_a_fault(app: Flask) -> None:
    cast.clinic(db.session(), clock().now())
    db.session.commit()
    at_head()
    code, lines = check(app)
    assert code == 1
    assert any(
        line.startswith("FAULT Harbour Hand Unit: ") and "not signed" in line for line in lines
    )
    assert any(line.startswith("FAULT keys") for line in lines)


def test_a_database_that_is_not_at_head_is_a_fault(app: Flask) -> None:
    code, lines = check(app)
    assert code == 1
    assert any(line.startswith("FAULT database: at nothing") for line in lines)


def test_hours_in_which_nobody_is_on_duty_are_said(house: Flask) -> None:
    by = db.session.scalars(select(cast.Staff)).one()
    cast.on_duty(db.session(), by, clock().now())
    db.session.commit()
    _code, lines = check(house)
    assert any("nobody on duty for trouble: Monday 00:00 to 08:00" in line for line in lines)
    assert db.session.scalars(select(ClinicHours)).first() is not None


def test_rebuild_finds_nothing_to_mend_and_mends_what_is_wrong(house: Flask) -> None:
    session, now = db.session(), clock().now()
    by = session.scalars(select(cast.Staff)).one()
    course = p.hourly(session, by, now=now - timedelta(days=3))
    assess_course(session, course, now - timedelta(days=3), since=course.at)
    session.commit()
    run = house.test_cli_runner()
    good = run.invoke(args=["rebuild"])
    assert (good.exit_code, good.output.splitlines()[-1][:9]) == (0, "1 courses")
    session.expire_all()
    row = session.scalars(select(DaySummaryRow).order_by(DaySummaryRow.day)).first()
    row.figures = row.figures | {"told": 777}
    session.commit()
    bad = run.invoke(args=["rebuild"])
    assert bad.exit_code == 1
    assert "1 had differed" in bad.output
    assert run.invoke(args=["rebuild"]).exit_code == 0
