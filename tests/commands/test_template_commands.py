"""Templates by command: list, adopt, approve."""

from __future__ import annotations

import pytest
from flask import Flask

from homeprog.clock import clock
from homeprog.extensions import db
from tests import cast


@pytest.fixture
def sign_ins(app: Flask) -> tuple[str, str]:
    now = clock().now()
    clinic = cast.clinic(db.session(), now)
    one = cast.staff(db.session(), clinic, now)
    other = cast.staff(db.session(), clinic, now, "therapist", "surgeon", "Bea Holm")
    names = one.sign_in, other.sign_in
    db.session.commit()
    return names


def run(app: Flask, *words: str):
    return app.test_cli_runner().invoke(args=["template", *words])


def test_a_template_is_adopted_by_one_and_approved_by_another(app, sign_ins):
    one, other = sign_ins
    assert "static-then-dynamic: " in run(app, "list", "Harbour Hand Unit").output
    assert run(app, "adopt", "static-then-dynamic", "--by", one).exit_code == 0
    refused = run(app, "approve", "static-then-dynamic", "--by", one)
    assert refused.exit_code == 1
    assert "Another clinician must approve" in refused.output
    assert run(app, "approve", "static-then-dynamic", "--by", other).exit_code == 0
    listed = run(app, "list", "Harbour Hand Unit").output
    assert (
        "static-then-dynamic, version 1: Static one week, then against a band: approved" in listed
    )
    assert "blank-frame: Blank frame: waits for adoption" in listed


def test_what_is_not_there_is_said(app, sign_ins):
    assert run(app, "adopt", "hourly-fist", "--by", sign_ins[0]).exit_code == 1
    assert run(app, "approve", "blank-frame", "--by", sign_ins[0]).exit_code == 1
    assert run(app, "adopt", "blank-frame", "--by", "nobody").exit_code == 1
