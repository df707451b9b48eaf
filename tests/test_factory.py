"""The house opens only on a safe configuration."""

from pathlib import Path

import pytest
from flask import Flask

from homeprog.config import Config
from homeprog.factory import create_app


def test_the_app_answers_that_it_is_ready_on_each_database(app: Flask) -> None:
    answer = app.test_client().get("/readyz")
    assert (answer.status_code, answer.json) == (200, {"status": "ready"})


def test_it_refuses_to_start_on_a_default_secret_or_a_plain_http_origin(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError, match=r"HOMEPROG_SECRET_KEY[\s\S]*HOMEPROG_ORIGIN"):
        create_app(Config(instance=tmp_path, origin="http://clinic.example"))


def test_an_unknown_page_is_told_in_the_one_json_shape_under_api(app: Flask) -> None:
    answer = app.test_client().get("/api/v1/nothing-here")
    assert answer.status_code == 404
    assert answer.json is not None
    assert set(answer.json["error"]) == {"code", "message", "fields"}


def test_in_production_it_refuses_to_start_on_a_database_that_is_not_at_head(
    tmp_path: Path,
) -> None:
    with pytest.raises(RuntimeError, match=r"at nothing, not at \w+: run `flask db upgrade`"):
        create_app(
            Config(
                instance=tmp_path,
                secret_key="s" * 40,
                origin="https://clinic.example",
                vapid_subject="mailto:ops@clinic.example",
            )
        )


def test_every_answer_says_whence_it_may_load_and_staff_pages_are_not_kept(app: Flask) -> None:
    page = app.test_client().get("/sign-in")
    assert "default-src 'self'" in page.headers["Content-Security-Policy"]
    assert page.headers["Cache-Control"] == "no-store"


def test_the_demo_has_a_database_of_its_own_beside_a_real_clinics(tmp_path: Path) -> None:
    real, demo = (Config(mode=mode, instance=tmp_path).database() for mode in ("test", "demo"))
    assert real == f"sqlite:///{tmp_path}/homeprog.sqlite3"
    assert demo == f"sqlite:///{tmp_path}/demo.sqlite3"
