"""What the house refuses to open with, of e-mail and webhook, and what it reads."""

from __future__ import annotations

import pytest

from homeprog.config import Config, read_config

GOOD = {
    "HOMEPROG_SECRET_KEY": "s" * 40, "HOMEPROG_ORIGIN": "https://unit.example",
    "HOMEPROG_VAPID_SUBJECT": "mailto:ops@unit.example", "HOMEPROG_SMTP_HOST": "mail.unit.example",
    "HOMEPROG_SMTP_FROM": "homeprog@unit.example",
    "HOMEPROG_WEBHOOK_URL": "https://pager.unit.example/hook", "HOMEPROG_WEBHOOK_SECRET": "w" * 32,
}  # fmt: skip


def faults(**changed: str) -> list[str]:
    return read_config(GOOD | {f"HOMEPROG_{name}": said for name, said in changed.items()}).faults()


def test_what_is_in_order_is_read_with_tls_and_the_usual_port() -> None:
    config = read_config(GOOD)
    assert config.faults() == []
    assert (config.smtp_host, config.smtp_port, config.smtp_starttls) == (
        "mail.unit.example", "587", True,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("name", "said"),
    [("SMTP_PORT", "mail"), ("SMTP_PORT", "0"), ("SMTP_FROM", "homeprog"),
     ("SMTP_STARTTLS", "off"), ("WEBHOOK_URL", "http://pager.unit.example/hook"),
     ("WEBHOOK_URL", "http://127.0.0.1/hook"), ("WEBHOOK_URL", "https:///hook"),
     ("WEBHOOK_SECRET", "short")],
)  # fmt: skip
def test_what_is_not_safe_is_refused_by_name(name: str, said: str) -> None:
    (fault,) = faults(**{name: said})
    assert f"HOMEPROG_{name}" in fault


def test_tls_may_be_off_for_a_mail_server_on_this_host_alone() -> None:
    assert faults(SMTP_HOST="127.0.0.1", SMTP_STARTTLS="off") == []


def test_a_test_may_post_to_its_own_machine() -> None:
    near = Config(mode="test", webhook_url="http://127.0.0.1:9/x", webhook_secret="w" * 32)
    assert near.faults() == []
    far = Config(mode="test", webhook_url="http://pager.example/x", webhook_secret="w" * 32)
    assert far.faults() != []


def test_without_a_server_or_a_receiver_nothing_is_asked_for() -> None:
    bare = {name: said for name, said in GOOD.items() if "SMTP" not in name and "HOOK" not in name}
    assert read_config(bare).faults() == []


def test_no_secret_stands_in_what_a_log_would_print() -> None:
    said = repr(read_config(GOOD | {"HOMEPROG_SMTP_PASSWORD": "very secret"}))
    assert "very secret" not in said
    assert "w" * 32 not in said
