"""A staff member at a desk: signs in, fills forms by their labels, follows links and buttons."""

from __future__ import annotations

import re
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Locator, Page, expect

from tests.browser.house import Member
from tests.cast import PASSWORD


class Desk:
    """One browser context of one staff member; everything is found by what is written on it."""

    def __init__(self, page: Page, origin: str) -> None:
        self.page, self.origin = page, origin

    def sign_in(self, who: Member) -> None:
        self.go("/sign-in")
        self.fill({"Sign-in": who.sign_in, "Password": PASSWORD})
        self.press("Sign in")
        expect(self.page.get_by_text(who.name).first).to_be_visible()

    def go(self, path: str) -> None:
        answer = self.page.goto(self.origin + path)
        assert answer is not None
        assert answer.status < 400, f"{path}: {answer.status}"

    def fill(self, fields: dict[str, Any]) -> None:
        """Fill by label: text, True for a tick, an option (words or pattern), (choices)."""
        for label, value in fields.items():
            self._fill_one(label, value)

    def _fill_one(self, label: str, value: Any) -> None:
        group = self.page.get_by_role("group", name=label)
        if isinstance(value, tuple):
            for each in value:
                group.first.get_by_label(each).first.check()
            return
        field = self.page.get_by_label(label).first
        kind = field.evaluate("(e) => e.type")
        if kind == "select-one" and isinstance(value, re.Pattern):
            words = field.locator("option").filter(has_text=value).first.inner_text()
            field.select_option(label=words)
        elif kind == "select-one":
            field.select_option(label=value)
        elif value is True:
            field.check()
        else:
            field.fill(value)

    def press(self, words: str) -> None:
        self.page.get_by_role("button", name=words).first.click()
        self.page.wait_for_load_state()
        self.no_fault()

    def follow(self, words: str) -> None:
        self.page.get_by_role("link", name=words).first.click()
        self.page.wait_for_load_state()
        self.no_fault()

    def no_fault(self) -> None:
        """No form was refused and no error page is shown."""
        faults = self.page.locator(".faults, [role=alert]").all_inner_texts()
        assert not faults, f"{self.page.url}: {faults}"

    def heading(self) -> Locator:
        return self.page.get_by_role("heading", level=1)

    def path(self) -> str:
        """The path of the page that is open."""
        return urlsplit(self.page.url).path
