"""The standing of a slot at `now` (docs/METHODS.md, 'Standing')."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Literal

from ..bout import Bout
from ..contact import Contacts
from ..credit import DEFAULT_RULES, Credit, Key, Rules, SlotCredit, credit
from ..hold import Hold
from ..timetable import Slot

Standing = Literal["logged", "part", "later", "not_logged", "unknown", "excused", "ahead"]


@dataclass(frozen=True, slots=True)
class Judgement:
    """Slots with their credit and standing at one `now`; made by `judge`."""

    credit: Credit
    standing: Mapping[Key, Standing]
    contact: frozenset[Key]  # slots with contact since
    past: frozenset[Key]  # slots past their end + 45 min


def judge(
    slots: Iterable[Slot],
    bouts: Iterable[Bout],
    holds: Iterable[Hold],
    cut: Mapping[Key, datetime],
    contacts: Contacts,
    now: datetime,
    rules: Rules = DEFAULT_RULES,
    apart: Collection[str] = (),
) -> Judgement:
    """Credit and standing of slots, from everything that bears on them.

    `slots` and `bouts` may span several exercises and days of one course; give the course days on
    either side with the one asked about. `cut` says when a revision that withdraws or limits a
    slot's exercise took effect in it. `contacts` knows the same `now`.
    """
    slots, bouts = tuple(slots), tuple(bouts)
    began = not_asked(slots, holds, cut)
    excused = excused_slots(slots, bouts, began, now, rules, apart)
    credited = credit(slots, bouts, excused, now, rules, apart)
    contact = frozenset(slot.key for slot in slots if contacts.since(slot.end, rules.closes(slot)))
    standing = standings(slots, credited, began, contact, now, rules)
    past = frozenset(slot.key for slot in slots if rules.past(slot, now))
    return Judgement(credited, standing, contact, past)


def not_asked(
    slots: Iterable[Slot], holds: Iterable[Hold], cut: Mapping[Key, datetime]
) -> dict[Key, datetime]:
    """Slots that a hold meets or a change cuts -> when the first of these began."""
    holds = tuple(holds)
    began: dict[Key, datetime] = {}
    for slot in slots:
        starts = [hold.start for hold in holds if _holds(hold, slot)]
        if slot.key in cut:
            starts.append(cut[slot.key])
        if starts:
            began[slot.key] = min(starts)
    return began


def _holds(hold: Hold, slot: Slot) -> bool:
    return hold.covers(slot.exercise) and hold.meets(slot.start, slot.end)


def excused_slots(
    slots: Sequence[Slot],
    bouts: Sequence[Bout],
    began: Mapping[Key, datetime],
    now: datetime,
    rules: Rules = DEFAULT_RULES,
    apart: Collection[str] = (),
) -> frozenset[Key]:
    """Slots not asked for, but for those that bouts entered before that began made logged.

    Each is looked at as the credit stood by the bouts entered before its instant in `began`.
    """
    dose = {slot.key: slot.dose.amount for slot in slots}
    excused: frozenset[Key] = frozenset()
    for instant, keys in groupby(sorted(began, key=lambda key: (began[key], key)), began.get):
        assert instant is not None
        before = [bout for bout in bouts if bout.entered_at < instant]
        stood = credit(slots, before, excused, now, rules, apart).slots if before else {}
        excused |= {key for key in keys if not _logged(stood.get(key), dose[key], rules)}
    return excused


def _logged(credited: SlotCredit | None, dose: int, rules: Rules) -> bool:
    return credited is not None and rules.reached(credited.timely, dose)


def standings(
    slots: Iterable[Slot],
    credited: Credit,
    began: Mapping[Key, datetime],
    contact: Collection[Key],
    now: datetime,
    rules: Rules = DEFAULT_RULES,
) -> dict[Key, Standing]:
    """The standing of every slot; `credited` must know the same slots and `now`.

    `began` is from `not_asked`; `contact` holds the keys of slots with contact since.
    """
    standing: dict[Key, Standing] = {}
    for slot in slots:
        key = slot.key
        here = credited.slots[key]
        kept = key not in credited.excused and _logged(here, slot.dose.amount, rules)
        if key in began and not kept:
            standing[key] = "excused"
        else:
            standing[key] = _standing(slot, here, key in contact, now, rules)
    return standing


def _standing(
    slot: Slot, credited: SlotCredit, contact: bool, now: datetime, rules: Rules
) -> Standing:
    """The standing of a slot that is asked for: the first that fits."""
    if rules.reached(credited.timely, slot.dose.amount):
        return "logged"
    if rules.reached(credited.told, slot.dose.amount):
        return "later"
    if not rules.past(slot, now):
        return "ahead"
    if credited.told > 0:
        return "part"
    return "not_logged" if contact else "unknown"
