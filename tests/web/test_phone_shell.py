"""The phone's app is served as files, under a policy, and its worker within its own scope."""

from __future__ import annotations

import json
import re

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from homeprog.config import ROOT
from homeprog.extensions import db
from homeprog.web.packed import bare


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


def _asked(app: Flask, path: str, **headers: str) -> TestResponse:
    with app.test_client().get(
        path, headers={k.replace("_", "-"): v for k, v in headers.items()}
    ) as answer:
        answer.get_data()
    db.session.remove()  # as the end of a request does outside of tests
    return answer


@pytest.mark.parametrize("way", ["br", "gzip"])
@pytest.mark.parametrize(
    "path", ["/phone/", "/static/js/views/now.js", "/shared/phrases/en.json", "/phone/shell.json"]
)
def test_what_is_the_same_for_everybody_is_sent_compressed(app: Flask, path: str, way: str) -> None:
    plain, packed = _asked(app, path), _asked(app, path, Accept_Encoding=way)
    assert packed.headers["Content-Encoding"] == way
    assert "Accept-Encoding" in packed.headers["Vary"]
    assert len(packed.data) < len(plain.data)
    again = _asked(app, path, Accept_Encoding=way, If_None_Match=packed.headers["ETag"])
    assert (again.status_code, again.data) == (304, b"")


@pytest.mark.parametrize("path", ["/sign-in", "/api/v1/openapi.json", "/healthz"])
def test_answers_with_secrets_or_a_person_s_words_are_not_compressed(app: Flask, path: str) -> None:
    answer = _asked(app, path, Accept_Encoding="gzip, br")
    assert answer.status_code == 200
    assert "Content-Encoding" not in answer.headers


def test_a_script_without_comments_says_the_same_line_by_line() -> None:
    script = "/* What\n   it is. */\nconst a = 1;   // why\n  /* b */ b();\n  /** One. */\n"
    script += "    call(/* a */ (a));\n"
    told = "\n\nconst a = 1;\n/* b */ b();\n\ncall(/* a */ (a));\n"
    assert bare(script, "text/javascript") == told
    assert bare("/* A. */\n.a { b: c; }   /* d */\n", "text/css") == "\n.a { b: c; }\n"
    assert bare("  as it is  // here", "application/json") == "  as it is  // here"


def _code(script: str) -> list[str]:
    """The lines of a script with code on them, read a line at a time."""
    lines, inside = [], False
    for line in map(str.strip, script.splitlines()):
        inside = inside or (line.startswith("/*") and "*/" not in line[:-2])
        if not inside and not (line.startswith("/*") and line.endswith("*/")):
            lines.append(line.split("  //")[0].rstrip())
        inside = inside and not line.endswith("*/")
    return list(filter(None, lines))


def test_no_line_of_code_is_left_out_of_any_script() -> None:
    for path in (ROOT / "static").rglob("*.js"):
        script = path.read_text()
        told = [line.rstrip() for line in bare(script, "text/javascript").splitlines()]
        assert list(filter(None, told)) == _code(script), path


def test_the_whole_app_comes_to_the_worker_in_one_file_of_the_version_it_asks_for(
    app: Flask,
) -> None:
    told = app.test_client().get("/phone/shell.json").get_json()
    listed = (ROOT / "static" / "js" / "sw" / "files.js").read_text()
    assert f'VERSION = "{told["version"]}"' in listed
    assert "/static/js/views/now.js" in told["parts"]
    assert not [path for path in told["parts"] if path.endswith((".css", ".png"))]
    scripts = "\n".join(told["parts"].values())
    phrases = json.loads(told["parts"]["/shared/phrases/en.json"]).keys()
    assert set(re.findall(r'say\("([\w.]+)"', scripts)) <= phrases
    families = set(re.findall(r"say\(`([\w.]+\.)\$\{", scripts))
    assert {"standing.", "wrong.saw.", "reminders.short."} <= families
    assert not [key for key in phrases if key.startswith(("question.", "read.", "finger."))]
    every = json.loads((ROOT / "shared" / "phrases" / "en.json").read_text())
    assert {key for key in every if key.startswith(tuple(families))} <= phrases
