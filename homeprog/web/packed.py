"""Static text goes out compressed, and scripts without their comments and indentation.

Only what is the same for everybody: files, and what `phone_shell` serves of them. An answer that
holds a secret or a patient's words is never compressed, so its length tells nothing (BREACH).
"""

from __future__ import annotations

import gzip
import re
from functools import lru_cache

import brotli
from flask import Flask, Response, request

TEXT = ("text/", "application/json", "application/manifest+json", "image/svg+xml")
LEAST = 200  # bytes; less is not worth it
COMMENTS = {
    "text/javascript": re.compile(
        r"^[ \t]*/\*(?:(?!\*/).)*\*/[ \t]*$|[ \t]{2,}// [^\n]*", re.DOTALL | re.MULTILINE
    ),
    "text/css": re.compile(r"[ \t]*/\*.*?\*/", re.DOTALL),
}
INDENTATION = re.compile(r"^[ \t]+", re.MULTILINE)


def register(app: Flask) -> None:
    """Pack every answer that may be packed."""

    @app.after_request
    def pack(answer: Response) -> Response:
        public = request.endpoint == "static" or request.blueprint == "phone_shell"
        if public and (answer.mimetype or "").startswith(TEXT):
            _pack(answer)
        return answer


def bare(text: str, kind: str) -> str:
    """A script or sheet without its comments and indentation; each line keeps its number.

    No string of ours spans lines or holds what looks like a comment (tests/js/shell.test.mjs), so
    nothing but layout is lost. Other kinds of text stay as they are.
    """
    if kind not in COMMENTS:
        return text
    lines = COMMENTS[kind].sub(lambda found: "\n" * found[0].count("\n"), text)
    return INDENTATION.sub("", lines)


def _pack(answer: Response) -> None:
    answer.vary.add("Accept-Encoding")
    if request.method != "GET" or answer.status_code != 200 or answer.content_encoding:
        return
    way = next((each for each in ("br", "gzip") if request.accept_encodings[each] > 0), None)
    answer.direct_passthrough = False
    body = answer.get_data()
    if way is None or len(body) < LEAST:
        return
    etag, _ = answer.get_etag()
    answer.set_data(_packed(body, way, answer.mimetype or ""))
    answer.content_encoding = way
    if etag:
        answer.set_etag(etag, weak=True)  # one file, packed in several ways


@lru_cache(maxsize=512)
def _packed(body: bytes, way: str, kind: str) -> bytes:
    text = bare(body.decode(), kind).encode()
    return brotli.compress(text) if way == "br" else gzip.compress(text, 9, mtime=0)
