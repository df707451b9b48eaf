"""Configuration from HOMEPROG_* environment variables over safe defaults."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})
OFF = frozenset({"0", "no", "off", "false"})
ROOT = Path(__file__).resolve().parent.parent
DEFAULT_SECRET = "change-me"


@dataclass(frozen=True)
class Config:
    """What the house needs to know before it opens. `mode` is production, demo or test."""

    mode: str = "production"
    instance: Path = ROOT / "instance"
    secret_key: str = DEFAULT_SECRET
    database_url: str = ""
    origin: str = ""  # https://homeprog.example.org, no path
    vapid_subject: str = ""  # mailto: or https: of whoever runs this
    push_extra_origins: tuple[str, ...] = field(default=())  # exact loopback origins, demo and test
    smtp_host: str = ""  # without it no e-mail is sent
    smtp_port: str = "587"  # 465: TLS from the start
    smtp_user: str = ""
    smtp_password: str = field(default="", repr=False)
    smtp_from: str = ""
    smtp_starttls: bool = True
    webhook_url: str = ""  # without it nothing is posted
    webhook_secret: str = field(default="", repr=False)

    @property
    def lenient(self) -> bool:
        """Whether this is the demo or a test."""
        return self.mode in ("demo", "test")

    @property
    def https(self) -> bool:
        return urlsplit(self.origin).scheme == "https"

    def database(self) -> str:
        """The SQLAlchemy URL: PostgreSQL where given, otherwise SQLite in instance/."""
        if not self.database_url:
            name = "demo" if self.mode == "demo" else "homeprog"
            return f"sqlite:///{self.instance / f'{name}.sqlite3'}"
        for prefix in ("postgres://", "postgresql://"):
            if self.database_url.startswith(prefix):
                return "postgresql+psycopg://" + self.database_url[len(prefix) :]
        return self.database_url

    def faults(self) -> list[str]:
        """What is wrong with it, a sentence each; the house does not open while any is left."""
        found = []
        if self.mode not in ("production", "demo", "test"):
            found.append("HOMEPROG_MODE must be production, demo or test.")
        if not self.lenient:
            found += self._production_faults()
        found += [*self._mail_faults(), *self._webhook_faults()]
        if self.push_extra_origins and not self.lenient:
            found.append("HOMEPROG_PUSH_EXTRA_ORIGINS is for demo and tests only: unset it.")
        return found

    def _production_faults(self) -> list[str]:
        found = []
        if self.secret_key == DEFAULT_SECRET or len(self.secret_key) < 32:
            found.append("Set HOMEPROG_SECRET_KEY to at least 32 random characters.")
        if not self.https:
            found.append("Set HOMEPROG_ORIGIN to the https:// address patients will use.")
        if not self.vapid_subject.startswith(("mailto:", "https:")):
            found.append("Set HOMEPROG_VAPID_SUBJECT to a mailto: or https: contact.")
        return found

    def _mail_faults(self) -> Iterator[str]:
        if not self.smtp_host:
            return
        if not self.smtp_port.isdecimal() or not 0 < int(self.smtp_port) < 65536:
            yield "HOMEPROG_SMTP_PORT is a number from 1 to 65535."
        if "@" not in self.smtp_from:
            yield "Set HOMEPROG_SMTP_FROM to the address e-mail to staff comes from."
        if not self.smtp_starttls and self.smtp_host not in LOOPBACK:
            yield "HOMEPROG_SMTP_STARTTLS may be off only for a mail server on this host."

    def _webhook_faults(self) -> Iterator[str]:
        if not self.webhook_url:
            return
        parts = urlsplit(self.webhook_url)
        near = self.lenient and parts.scheme == "http" and parts.hostname in LOOPBACK
        if not near and (parts.scheme != "https" or not parts.hostname):
            yield "HOMEPROG_WEBHOOK_URL must be an https:// address."
        if len(self.webhook_secret) < 32:
            yield "Set HOMEPROG_WEBHOOK_SECRET to at least 32 random characters."


def read_config(environ: Mapping[str, str] = os.environ) -> Config:
    """The configuration as the environment states it."""
    instance = Path(environ.get("HOMEPROG_INSTANCE", ROOT / "instance"))
    extra = environ.get("HOMEPROG_PUSH_EXTRA_ORIGINS", "")
    return Config(
        mode=environ.get("HOMEPROG_MODE", "production"),
        instance=instance,
        secret_key=environ.get("HOMEPROG_SECRET_KEY") or _kept_secret(instance),
        database_url=environ.get("HOMEPROG_DATABASE_URL", ""),
        origin=environ.get("HOMEPROG_ORIGIN", "").rstrip("/"),
        vapid_subject=environ.get("HOMEPROG_VAPID_SUBJECT", ""),
        push_extra_origins=tuple(o for o in extra.split(",") if o),
        smtp_host=environ.get("HOMEPROG_SMTP_HOST", ""),
        smtp_port=environ.get("HOMEPROG_SMTP_PORT", "") or "587",
        smtp_user=environ.get("HOMEPROG_SMTP_USER", ""),
        smtp_password=environ.get("HOMEPROG_SMTP_PASSWORD", ""),
        smtp_from=environ.get("HOMEPROG_SMTP_FROM", ""),
        smtp_starttls=environ.get("HOMEPROG_SMTP_STARTTLS", "").lower() not in OFF,
        webhook_url=environ.get("HOMEPROG_WEBHOOK_URL", ""),
        webhook_secret=environ.get("HOMEPROG_WEBHOOK_SECRET", ""),
    )


def _kept_secret(instance: Path) -> str:
    kept = instance / "secret_key"
    return kept.read_text().strip() if kept.exists() else DEFAULT_SECRET
