"""What every answer tells the browser: whence it may load, and that staff pages are not kept."""

from __future__ import annotations

from flask import Flask, Response, request

POLICY = "; ".join(
    (
        "default-src 'self'",
        "img-src 'self' data:",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)
KEPT = ("/static/", "/phone/", "/shared/")  # say themselves how long they may be kept


def register(app: Flask) -> None:
    """Add the headers to every answer."""

    @app.after_request
    def tell(answer: Response) -> Response:
        answer.headers.setdefault("Content-Security-Policy", POLICY)
        answer.headers.setdefault("Referrer-Policy", "no-referrer")
        answer.headers.setdefault("X-Content-Type-Options", "nosniff")
        if not request.path.startswith(KEPT):
            answer.headers.setdefault("Cache-Control", "no-store")
        return answer
