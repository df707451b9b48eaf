"""The phone's app as files: its page, worker, manifest and phrases. Nothing here is a patient's."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from flask import Blueprint, Response, abort, current_app, request

from ..config import ROOT
from .packed import bare

bp = Blueprint("phone_shell", __name__)

# What the server alone says: the plan brings it in words, and pictures theirs.
OF_THE_SERVER = (
    "asks.", "closed.", "count.", "date.", "day.", "figure.", "finger.", "hand.", "profession.",
    "push.", "question.", "read.", "ring.", "stage.",
)  # fmt: skip
VERSION = re.compile(r'VERSION = "(\w+)"')
PACKED = re.compile(r"PACKED = \[(.*?)\]", re.DOTALL)
PATH = re.compile(r'"(/(?:static|shared)/[\w/.-]+)"')


@bp.get("/phone/")
def shell() -> Response:
    """The one page; what it shows comes from the plan."""
    return _file(ROOT / "templates" / "phone" / "shell.html", "text/html")


@bp.get("/phone/sw.js")
def worker() -> Response:
    """The worker stands under /phone/, so that its scope is the phone's and not the staff's."""
    answer = _file(ROOT / "static" / "sw.js", "text/javascript")
    answer.headers["Service-Worker-Allowed"] = "/phone/"
    return answer


@bp.get("/phone/manifest.webmanifest")
def manifest() -> Response:
    return _file(ROOT / "static" / "manifest.webmanifest", "application/manifest+json")


@bp.get("/phone/shell.json")
def whole() -> Response:
    """Scripts, phrases and signs in one file, as the list of the worker names them.

    Sixty files one by one cost a slow network sixty waits, and compress worse apart.
    """
    listed = (ROOT / "static" / "js" / "sw" / "files.js").read_text()
    version, packed = VERSION.findall(listed), PACKED.findall(listed)
    if len(version) != 1 or len(packed) != 1:
        abort(404)
    paths = PATH.findall(packed[0])
    texts = {path: (ROOT / path.lstrip("/")).read_text() for path in paths}
    parts = {path: _part(path, text, texts) for path, text in texts.items()}
    told = json.dumps({"version": version[0], "parts": parts}, ensure_ascii=False)
    return _kept(current_app.response_class(told, mimetype="application/json"))


def _part(path: str, text: str, texts: Mapping[str, str]) -> str:
    """A script without its layout; phrases without those that no script asks for."""
    if path.endswith(".js"):
        return bare(text, "text/javascript")
    if path.endswith(".json"):
        scripts = (each for name, each in texts.items() if name.endswith(".js"))
        return _asked_for(json.loads(text), "\n".join(scripts))
    return text


def _asked_for(phrases: Mapping[str, Any], scripts: str) -> str:
    told = {
        key: said
        for key, said in phrases.items()
        if not key.startswith(OF_THE_SERVER) or f'"{key}"' in scripts
    }
    return json.dumps(told, ensure_ascii=False, separators=(",", ":"))


@bp.get("/shared/phrases/en.json")
def phrases() -> Response:
    """Buttons and labels in English, for any phone; other languages are words a clinic signed."""
    return _file(ROOT / "shared" / "phrases" / "en.json", "application/json")


def _file(path: Path, mimetype: str) -> Response:
    """It may be kept, but is asked after before use; an unchanged file costs a 304."""
    return _kept(current_app.response_class(path.read_bytes(), mimetype=mimetype))


def _kept(answer: Response) -> Response:
    answer.headers["Cache-Control"] = "no-cache"
    answer.add_etag()
    answer.make_conditional(request)
    return answer
