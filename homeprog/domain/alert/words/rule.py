"""The figures inside the rules that count, for the part of an alert's page that is folded away."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from .said import Figures, number


def _few_logged(figures: Figures) -> str:
    return (
        f"Running sum S: {number(figures['sum'])}, limit h: {number(figures['h'])}, for "
        f"{figures['slots_a_day']} times a day. {_weighed(figures)}"
    )


def _weighed(figures: Figures) -> str:
    return (
        f"Weighed: p0 = {number(figures['p0'])} logged against p1 = {number(figures['p1'])}, "
        f"likeness within a day rho = {number(figures['rho'])}."
    )


def _silence(figures: Figures) -> str:
    return (
        f"r = {figures['r']} due times in a row, by p0 = {number(figures['p0'])} and "
        f"rho = {number(figures['rho'])}."
    )


HOW: Mapping[str, Callable[[Figures], str]] = {
    "few_logged": _few_logged,
    "reminders_not_arriving": _few_logged,
    "silence": _silence,
}
