"""`make tables`: works out the tables of docs/METHODS.md anew and writes them into it.

Exact, by the monitor's own chains, for the clinic settings' defaults; the budget by a simulation
with a fixed seed. What is written between the
two marks of a table is replaced; nothing else is touched.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import partial
from pathlib import Path

from homeprog.domain.monitor import Row, Threshold, operating, silence_row, threshold
from homeprog.domain.monitor.characteristics import delay_after_release, false_at_first
from homeprog.domain.monitor.row import row_run
from homeprog.domain.settings import DEFAULTS

from .reference_patient import WANDERING, simulated

METHODS = Path(__file__).resolve().parents[2] / "docs" / "METHODS.md"
SLOTS = (16, 12, 6, 4)
RHOS = (0.1, 0.3)
P0, P1, RHO = (float(DEFAULTS[f"few_logged.{name}"]) for name in ("p0", "p1", "rho"))
FEW_DAYS = int(DEFAULTS["few_logged.false_in_days"])
SILENCE_DAYS = int(DEFAULTS["silence.false_in_days"])
SHIPPED_HEAD_START = bool(DEFAULTS["few_logged.head_start"])
HALF, FIFTH = 0.5, 0.2
MOST = 10_000


def shipped(slots: int, head_start: bool = SHIPPED_HEAD_START) -> Threshold:
    """The limit by the settings' defaults."""
    return threshold(slots, P0, P1, RHO, FEW_DAYS, head_start)


def limits() -> str:
    """h and r for each number of slots a day, and what the head start does."""
    head = (
        "slots a day", "h from S = 0", "h with the head start", "false in 7 days from S = 0",
        "with the head start", f"told after a release, {percent(HALF)}", percent(FIFTH), "r",
        "false silence once in",
    )  # fmt: skip
    return table(head, map(_limits_row, SLOTS))


def _limits_row(slots: int) -> tuple[str, ...]:
    plain, started = shipped(slots, head_start=False), shipped(slots, head_start=True)
    r = silence_row(slots, P0, RHO, SILENCE_DAYS)
    return (
        str(slots),
        f"{plain.h:.2f}",
        f"{started.h:.2f}",
        percent(false_at_first(plain, RHO, head_start=False)),
        percent(false_at_first(started, RHO, head_start=True)),
        str(delay_after_release(started, HALF, RHO)),
        str(delay_after_release(started, FIFTH, RHO)),
        str(r),
        days(row_run(r, slots, P0, RHO)),
    )


def by_level(slots: int) -> str:
    """The rule and the 3-day mean at each true level, for both likenesses."""
    limit = shipped(slots)
    each = ("rings after", "after a fall", "3-day mean", "after a fall")
    head = (
        "logged",
        *(f"rho {rho}: {name}" if n == 0 else name for rho in RHOS for n, name in enumerate(each)),
    )
    rows = zip(*(operating(limit, rho) for rho in RHOS), strict=True)
    return table(head, ((percent(one.level), *cells(one), *cells(other)) for one, other in rows))


def cells(row: Row) -> tuple[str, str, str, str]:
    return days(row.run), delay(row.delay), days(row.run_by_hand), delay(row.delay_by_hand)


def budget() -> str:
    """False alarms of the reference patient, by a seeded simulation."""
    head = (
        "slots a day", "few logged", "silence", "all others", "together",
        "pain rise alone, if pain wanders",
    )  # fmt: skip
    return table(head, map(_budget_row, SLOTS))


def _budget_row(slots: int) -> tuple[str, ...]:
    r = silence_row(slots, P0, RHO, SILENCE_DAYS)
    flat = simulated(shipped(slots), r)
    wanders = simulated(shipped(slots), r, pain_of_days=WANDERING)
    counts = (flat.few_logged, flat.silence, flat.other, flat.together, wanders.others["pain_rise"])
    return (str(slots), *(once_in(flat.patient_days, n) for n in counts))


def once_in(patient_days: int, alarms: int) -> str:
    return days(patient_days / alarms) if alarms else f"none in {patient_days:,}"


def days(value: float) -> str:
    """Patient-days: whole from 10 on."""
    if value > MOST:
        return f"over {MOST:,}"
    return f"{value:,.0f}" if value >= 10 else f"{value:.1f}"


def percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def delay(value: int | None) -> str:
    return "" if value is None else str(value)


def table(head: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    heads = tuple(head)
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


TABLES: Mapping[str, Callable[[], str]] = {
    "limits": limits,
    **{f"{slots} slots a day": partial(by_level, slots) for slots in SLOTS},
    "budget": budget,
}


def marks(name: str) -> tuple[str, str]:
    return f"<!-- make tables: {name} -->\n", f"\n<!-- end: {name} -->"


def printed(name: str, text: str) -> str:
    """The table as it stands in the text."""
    begin, end = marks(name)
    return text.split(begin, 1)[1].split(end, 1)[0]


def written(name: str, made: str, text: str) -> str:
    """The text with one table made anew."""
    begin, end = marks(name)
    return text.replace(f"{begin}{printed(name, text)}{end}", f"{begin}{made}{end}")


def main() -> None:
    text = METHODS.read_text()
    for name, make in TABLES.items():
        text = written(name, make(), text)
    METHODS.write_text(text)


if __name__ == "__main__":
    main()
