"""The phone's app is served as files, under a policy, and its worker within its own scope."""

from __future__ import annotations

import pytest
from flask import Flask

from homeprog.extensions import db


def test_the_page_lets_in_nothing_but_the_house_s_own_files(app: Flask) -> None:
    answer = app.test_client().get("/phone/")
    assert answer.status_code == 200
    assert answer.mimetype == "text/html"
    assert "default-src 'self'" in answer.headers["Content-Security-Policy"]
    assert "unsafe" not in answer.headers["Content-Security-Policy"]
    assert "no-store" not in answer.headers["Cache-Control"]


def test_the_worker_is_script_of_the_phone_s_scope_and_always_asked_after(app: Flask) -> None:
    answer = app.test_client().get("/phone/sw.js")
    assert answer.status_code == 200
    assert answer.mimetype == "text/javascript"
    assert answer.headers["Service-Worker-Allowed"] == "/phone/"
    assert answer.headers["Cache-Control"] == "no-cache"


def test_an_unchanged_page_is_not_sent_again(app: Flask) -> None:
    client = app.test_client()
    first = client.get("/phone/")
    db.session.remove()  # as the end of a request does outside of tests
    again = client.get("/phone/", headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/phone/manifest.webmanifest", "application/manifest+json"),
        ("/shared/phrases/en.json", "application/json"),
    ],
)
def test_manifest_and_phrases_are_served(app: Flask, path: str, kind: str) -> None:
    answer = app.test_client().get(path)
    assert answer.status_code == 200
    assert answer.mimetype == kind
    assert answer.get_json(force=True)


@pytest.mark.parametrize("language", ["xx", "..%2f..%2fapp", "%2e%2e"])
def test_phrases_of_no_known_language_are_not_found(app: Flask, language: str) -> None:
    assert app.test_client().get(f"/shared/phrases/{language}.json").status_code == 404
