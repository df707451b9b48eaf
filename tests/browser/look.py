"""One screen in every shape: narrow, dark, wide, large text, right to left."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from playwright.sync_api import Page

NARROW, PHONE, WIDE = (320, 640), (360, 740), (1280, 800)
OVERFLOW = """() => {
  const room = window.innerWidth;
  if (document.documentElement.scrollWidth <= room) return null;
  const out = [...document.querySelectorAll("body *")].filter((e) => {
    for (let up = e.parentElement; up; up = up.parentElement)
      if (getComputedStyle(up).overflowX !== "visible") return false;
    const box = e.getBoundingClientRect();
    return box.right > room + 1 || box.left < -1;
  });
  const named = (e) => `${e.tagName}.${e.className} '${e.innerText?.slice(0, 30)}'`;
  const wide = document.documentElement.scrollWidth;
  return `${wide} > ${room}: ${out.slice(0, 3).map(named).join("; ")}`;
}"""
CLIPPED = """() => [...document.querySelectorAll("button, h1, label")]
  .filter((e) => e.clientWidth && e.scrollWidth > e.clientWidth + 1
    && getComputedStyle(e).position !== "absolute")
  .map((e) => `'${e.innerText.slice(0, 30)}' is cut off`)"""
LARGE = "(on) => { document.documentElement.style.fontSize = on ? '200%' : ''; }"
RTL = """(on) => {
  document.documentElement.dataset.dirKept = "yes";
  document.documentElement.dir = on ? "rtl" : "ltr";
}"""


@dataclass
class Inspector:
    """Looks at screens and keeps what is wrong with them; each is shot in every shape."""

    shoot: Callable[[Page, str], None]
    accessible: Callable[[Page], list[str]]
    faults: list[str] = field(default_factory=list)
    seen: list[str] = field(default_factory=list)

    def look(self, page: Page, name: str) -> None:
        """Look at what the page shows now; it shows the same again afterwards."""
        self.seen.append(name)
        before = page.viewport_size or {"width": 360, "height": 740}
        self._sized(page, name, "320", NARROW)
        self._sized(page, name, "360", PHONE)
        self._axe(page, name, "light")
        self._scripted(page, name, "large", LARGE)
        self._scripted(page, name, "rtl", RTL)
        self._sized(page, name, "1280", WIDE)
        self._dark(page, name)
        page.set_viewport_size(before)

    def _sized(self, page: Page, name: str, shape: str, size: tuple[int, int]) -> None:
        page.set_viewport_size({"width": size[0], "height": size[1]})
        self._fits(page, name, shape)

    def _fits(self, page: Page, name: str, shape: str) -> None:
        if over := page.evaluate(OVERFLOW):
            self.faults.append(f"{name} at {shape}: {over}")
        self.faults += [f"{name} at {shape}: {each}" for each in page.evaluate(CLIPPED)]
        if shape != "320":
            self.shoot(page, f"{name}-{shape}")

    def _dark(self, page: Page, name: str) -> None:
        page.emulate_media(color_scheme="dark")
        self.shoot(page, f"{name}-dark")
        self._axe(page, name, "dark")
        page.emulate_media(color_scheme="light")

    def _scripted(self, page: Page, name: str, shape: str, script: str) -> None:
        page.evaluate(script, True)
        self._fits(page, name, shape)
        page.evaluate(script, False)

    def _axe(self, page: Page, name: str, shape: str) -> None:
        self.faults += [f"{name}, {shape}: {fault}" for fault in self.accessible(page)]

    def told(self) -> str:
        """The faults, each once."""
        return "\n".join(dict.fromkeys(self.faults))
