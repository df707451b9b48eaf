"""Which push services messages may go to; checked when a phone subscribes and at each send."""

from __future__ import annotations

import re
from collections.abc import Collection
from urllib.parse import SplitResult, urlsplit

HOSTS = frozenset({"fcm.googleapis.com", "updates.push.services.mozilla.com"})
SUFFIXES = (".push.services.mozilla.com", ".push.apple.com", ".notify.windows.com")
LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})
# Characters on which URL readers agree: no space, control, backslash, '@', '#', non-ASCII.
PLAIN = re.compile(r"https?://[A-Za-z0-9.:\[\]-]+(/[A-Za-z0-9._~!$&'()*+,;=:%/?-]*)?")
LONGEST = 2048  # characters


def allowed(endpoint: str, extra_origins: Collection[str] = ()) -> bool:
    """Whether an endpoint is that of a known push service over https on port 443.

    `extra_origins` are exact loopback origins, of the demo and of tests only.
    """
    if len(endpoint) > LONGEST or not PLAIN.fullmatch(endpoint):
        return False
    try:
        parts = urlsplit(endpoint)
        port = parts.port
    except ValueError:
        return False
    if origin_of(endpoint) in extra_origins:
        return parts.hostname in LOOPBACK
    return parts.scheme == "https" and port in (None, 443) and _known(parts)


def origin_of(endpoint: str) -> str:
    """Scheme, host and port (unless it is the scheme's own): what a VAPID token is made out to."""
    parts = urlsplit(endpoint)
    host = parts.hostname or ""
    host = f"[{host}]" if ":" in host else host
    own = {"https": 443, "http": 80}[parts.scheme]
    return f"{parts.scheme}://{host}" + (f":{parts.port}" if parts.port not in (None, own) else "")


def _known(parts: SplitResult) -> bool:
    host = parts.hostname or ""
    return host in HOSTS or host.endswith(SUFFIXES)
