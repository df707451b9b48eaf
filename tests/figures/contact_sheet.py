"""Every picture on one sheet, to be looked at: `make figures` writes figures/ (not kept in git).

For each shipped regime and for synthetic scenes: both hands, light and dark, and as printed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from html import escape
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

from homeprog.domain.course import Digit, Zone
from homeprog.domain.figure import Scene, describe, draw, scenes_of, strip
from homeprog.phrases import phrases_of
from homeprog.services.adopt_template import starting_points
from tests.figures.synthetic import scenes

ROOT = Path(__file__).resolve().parents[2]
OUT = ROOT / "figures"
CHROMIUM = "/usr/bin/chromium"
REPAIRS: Mapping[str, tuple[tuple[Digit, ...], Zone]] = {
    "early-controlled-active": (("middle",), "VI"),
    "static-several-tendons": (("index", "thumb"), "VII"),
    "static-then-dynamic": (("ring",), "V"),
    "blank-frame": (("small",), "III"),
}
LAYOUT = """body { background: var(--sheet); padding: 16px; } h1, h2 { margin: 12px 0; }
.sheet { display: grid; grid-template-columns: repeat(4, 1fr); gap: 12px; }
figure { border: 1px solid var(--line); padding: 6px; } .wide { grid-column: span 4; }
figcaption { font-size: 12px; line-height: 1.3; }"""
Cell = tuple[str, Scene]


def main() -> None:
    """Write every sheet as HTML and PNG."""
    OUT.mkdir(exist_ok=True)
    sheets = dict(_sheets())
    for name, cells in sheets.items():
        (OUT / f"{name}.html").write_text(_page(name, cells), encoding="utf-8")
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        for name in sheets:
            _shoot(browser, name)
        browser.close()
    print(f"{len(sheets)} sheets in {OUT}")


def _sheets() -> Iterator[tuple[str, list[Cell]]]:
    for key, start in starting_points().items():
        repaired, zone = REPAIRS[key]
        for side in ("left", "right"):
            yield (
                f"{key}-{side}",
                [
                    (f"{phase.name}: {name}", scene)
                    for phase in start.regime.phases
                    for name, scene in scenes_of(phase, side, repaired, zone)
                ],
            )
    for side in ("left", "right"):
        yield f"synthetic-{side}", [(n, replace(s, side=side)) for n, s in scenes().items()]  # type: ignore[arg-type]


def _page(name: str, cells: Iterable[Cell]) -> str:
    body = "".join(_cell(*cell) for cell in cells)
    sheets = "".join(
        f'<link rel="stylesheet" href="../static/css/{css}.css">'
        for css in ("tokens", "base", "figure")
    )
    return (
        f'<!doctype html><html lang="en"><meta charset="utf-8"><title>{name}</title>{sheets}'
        f'<style>{LAYOUT}</style><h1>{name}</h1><div class="sheet">{body}</div></html>'
    )


def _cell(name: str, scene: Scene) -> str:
    title, description = describe(scene, phrases_of("en"))
    words = f"<figcaption><b>{escape(name)}</b><br>{escape(description)}</figcaption>"
    cell = f"<figure>{draw(scene, title, description)}{words}</figure>"
    if scene.motion is not None:
        cell += f'<figure class="wide">{strip(scene, title, description)}</figure>'
    return cell


def _shoot(browser: Browser, name: str) -> None:
    for look in ("light", "dark", "print"):
        page = browser.new_page(
            viewport={"width": 1600, "height": 900}, reduced_motion="reduce",
            color_scheme="dark" if look == "dark" else "light",
        )  # fmt: skip
        if look == "print":
            page.emulate_media(media="print")
        page.goto((OUT / f"{name}.html").as_uri())
        page.screenshot(path=OUT / f"{name}-{look}.png", full_page=True)
        page.close()


if __name__ == "__main__":
    main()
