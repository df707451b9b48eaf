"""Signing in: rotation, idle and absolute ends, one-time passwords, strangers."""

from datetime import timedelta

import pytest
from argon2 import PasswordHasher, Type, extract_parameters
from flask import Flask
from flask.testing import FlaskClient

from homeprog.clock import clock
from homeprog.extensions import db, limiter
from homeprog.services.sign_in import sign_in, signed_in
from homeprog.storage.models import Staff, StaffSession
from tests import cast
from tests.web.staff_client import settled, stranger


@pytest.fixture
def anna(app: Flask) -> Staff:
    now = clock().now()
    return settled(cast.staff(db.session(), cast.clinic(db.session(), now), now))


@pytest.fixture
def client(app: Flask, anna: Staff) -> FlaskClient:
    return stranger(app)


def enter(client: FlaskClient, who: Staff, password: str = cast.PASSWORD, **more: str):
    return client.post("/sign-in", data={"name": who.sign_in, "password": password, **more})


def test_the_cookie_is_http_only_and_its_secret_is_kept_hashed(
    client: FlaskClient, anna: Staff
) -> None:
    answer = enter(client, anna)
    assert answer.status_code == 303
    cookie = next(c for c in answer.headers.getlist("Set-Cookie") if "homeprog_staff" in c)
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    secret = client.get_cookie("homeprog_staff")
    assert secret is not None
    row = db.session.query(StaffSession).one()
    assert secret.value.encode() not in row.token_hash


def test_a_second_sign_in_gives_a_new_secret_and_ends_the_one_before(
    client: FlaskClient, anna: Staff
) -> None:
    enter(client, anna)
    first = client.get_cookie("homeprog_staff")
    enter(client, anna)
    second = client.get_cookie("homeprog_staff")
    assert first is not None
    assert second is not None
    assert first.value != second.value
    assert signed_in(db.session(), first.value, clock().real()) is None
    assert signed_in(db.session(), second.value, clock().real()) is not None


@pytest.mark.parametrize("name", ["right", "unknown"])
def test_a_wrong_password_and_an_unknown_name_get_the_same_answer_and_keep_the_name(
    client: FlaskClient, anna: Staff, name: str
) -> None:
    typed = anna.sign_in if name == "right" else "nobody.here"
    answer = client.post("/sign-in", data={"name": typed, "password": "wrong password"})
    assert answer.status_code == 422
    assert "Name or password is wrong." in answer.text
    assert f'value="{typed}"' in answer.text
    assert "wrong password" not in answer.text
    assert client.get_cookie("homeprog_staff") is None


def test_strangers_are_sent_to_sign_in_and_then_to_where_they_wanted(
    client: FlaskClient, anna: Staff
) -> None:
    answer = client.get("/patients?find=obi")
    assert answer.status_code == 303
    assert answer.headers["Location"] == "/sign-in?next=/patients?find%3Dobi"
    assert (
        enter(client, anna, next="/patients?find=obi").headers["Location"] == "/patients?find=obi"
    )


@pytest.mark.parametrize(
    "wanted",
    [
        "https://evil.example/",
        "//evil.example",
        "///evil.example",
        "/\\evil.example",
        "/\t/evil.example",
    ],
)
def test_nobody_is_sent_to_another_site(client: FlaskClient, anna: Staff, wanted: str) -> None:
    assert enter(client, anna, next=wanted).headers["Location"] == "/caseload"


def test_every_route_outside_the_public_list_refuses_a_stranger(
    app: Flask, client: FlaskClient
) -> None:
    public = {"phone_api", "pairings", "phone_shell", "health", "sign_in"}
    tried = 0
    for rule in app.url_map.iter_rules():
        if rule.endpoint.split(".")[0] in public or rule.endpoint.startswith(
            ("static", "api-docs")
        ):
            continue
        path = rule.rule
        for name in rule.arguments:
            path = path.replace(f"<uuid:{name}>", "0" * 8).replace(f"<{name}>", "x")
        method = next(m for m in ("POST", "PUT", "DELETE", "GET") if m in (rule.methods or ()))
        answer = client.open(path, method=method)
        if answer.status_code == 404 and "<" in rule.rule:
            continue  # a converter refused the made-up id before anybody was asked
        tried += 1
        assert answer.status_code in (303, 401), rule
    assert tried > 5


def test_a_one_time_password_opens_nothing_but_its_own_change(
    client: FlaskClient, anna: Staff
) -> None:
    db.session.merge(anna).must_change = True
    db.session.commit()
    enter(client, anna)
    assert client.get("/patients").headers["Location"] == "/password"
    new = "four wet bandages"
    wrong = {"present": "no", "new": "short", "again": "other"}
    answer = client.post("/password", data=wrong)
    assert answer.status_code == 422
    for message in ("not your present password", "at least 12 characters", "do not match"):
        assert message in answer.text
    client.post("/password", data={"present": cast.PASSWORD, "new": new, "again": new})
    assert client.get("/patients").status_code == 200
    assert enter(app_client(client), anna).status_code == 422
    assert enter(app_client(client), anna, new).status_code == 303


def app_client(client: FlaskClient) -> FlaskClient:
    return stranger(client.application)


def test_signing_out_ends_the_sign_in_at_the_server(client: FlaskClient, anna: Staff) -> None:
    enter(client, anna)
    secret = client.get_cookie("homeprog_staff")
    assert secret is not None
    client.post("/sign-out")
    client.set_cookie("homeprog_staff", secret.value)
    assert client.get("/patients").status_code == 303


def test_a_sign_in_ends_after_an_idle_hour_and_after_twelve_hours_in_all(
    app: Flask, anna: Staff
) -> None:
    start = clock().real()
    row, token = sign_in(db.session(), anna.sign_in, cast.PASSWORD, start)
    assert signed_in(db.session(), token, start + timedelta(minutes=60)) is not None
    assert signed_in(db.session(), token, start + timedelta(minutes=61)) is None
    row.last_seen = start + timedelta(hours=11, minutes=59)
    db.session.flush()
    assert signed_in(db.session(), token, start + timedelta(hours=11, minutes=59)) is not None
    assert signed_in(db.session(), token, start + timedelta(hours=12)) is None


def test_who_has_left_cannot_sign_in_and_is_out_at_once(client: FlaskClient, anna: Staff) -> None:
    enter(client, anna)
    db.session.merge(anna).ended_at = clock().now() - timedelta(seconds=1)
    db.session.commit()
    assert client.get("/patients").status_code == 303
    assert enter(client, anna).status_code == 422


def test_a_form_without_its_csrf_word_is_refused(app: Flask, anna: Staff) -> None:
    client = stranger(app)
    app.config["WTF_CSRF_ENABLED"] = True
    answer = enter(client, anna)
    assert answer.status_code == 400
    assert db.session.query(StaffSession).count() == 0


def test_the_eleventh_try_at_one_name_in_a_quarter_of_an_hour_is_refused(
    app: Flask, anna: Staff
) -> None:
    limiter.enabled = True
    limiter.reset()
    client = stranger(app)
    try:
        tries = [enter(client, anna, "no").status_code for _ in range(11)]
    finally:
        limiter.enabled = False
        limiter.reset()
    assert tries == [422] * 10 + [429]


def test_a_password_is_kept_slow_to_guess(earnest_passwords: PasswordHasher) -> None:
    """RFC 9106 section 4, second recommended option: argon2id, 64 MiB, 3 passes.

    Values from memory.
    """
    kept = extract_parameters(earnest_passwords.hash(cast.PASSWORD))
    assert (kept.type, kept.time_cost >= 3, kept.memory_cost >= 64 << 10) == (Type.ID, True, True)
