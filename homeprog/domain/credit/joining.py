"""Bouts that two phones logged of one and the same go."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import timedelta
from itertools import combinations

from ..bout import Bout
from .line import Line
from .rules import Rules

Pair = tuple[Bout, Bout]


def join(line: Line, bouts: Sequence[Bout], apart: Collection[str], rules: Rules) -> dict[str, str]:
    """Which bouts of one exercise do not count, each with the id of the one that does.

    Pairs from different phones join nearest first, ties by id, as long as no phone is twice in a
    go. `apart` are ids that staff have split off; they join nothing.
    """
    free = [bout for bout in bouts if bout.id not in apart]
    if len({bout.device for bout in free}) < 2:
        return {}
    goes = {bout.id: [bout] for bout in free}
    for one, other in sorted(_pairs(line, free, rules), key=_nearness):
        _merge(goes, goes[one.id], goes[other.id])
    return dict(_settled(goes, line, rules))


def _pairs(line: Line, bouts: Sequence[Bout], rules: Rules) -> Iterator[Pair]:
    for one, other in [*_near(bouts, rules.same_go), *_same_slot(line, bouts)]:
        if one.device != other.device:
            yield (one, other) if one.id < other.id else (other, one)


def _near(bouts: Iterable[Bout], same_go: timedelta) -> Iterator[Pair]:
    """Pairs done within less than `same_go` of each other."""
    done = sorted((b for b in bouts if not b.fill_in), key=lambda bout: (bout.at, bout.id))
    for number, one in enumerate(done):
        for other in done[number + 1 :]:
            if other.at - one.at >= same_go:
                break
            yield one, other


def _same_slot(line: Line, bouts: Iterable[Bout]) -> Iterator[Pair]:
    """Pairs of which one fills in the slot that the other fills in or falls in."""
    here: dict[object, list[Bout]] = {}
    for bout in bouts:
        place = line.own(bout)
        # A slot that is no longer there is still one slot to two phones that both filled it in.
        gone = bout.slot_start if line.places[place] is None else place
        here.setdefault(gone, []).append(bout)
    for members in here.values():
        for one, other in combinations(members, 2):
            if one.fill_in or other.fill_in:
                yield one, other


def _nearness(pair: Pair) -> tuple[timedelta, str, str]:
    one, other = pair
    return (abs(one.at - other.at), one.id, other.id)


def _merge(goes: dict[str, list[Bout]], one: list[Bout], other: list[Bout]) -> None:
    """Make two goes one, unless they are already or a phone would be in it twice."""
    if one is other or {b.device for b in one} & {b.device for b in other}:
        return
    one.extend(other)
    for bout in other:
        goes[bout.id] = one


def _settled(goes: dict[str, list[Bout]], line: Line, rules: Rules) -> Iterator[tuple[str, str]]:
    """(id that does not count, id that counts) for every go of several phones."""
    for bout_id, go in goes.items():
        counts = min(go, key=lambda bout: (not _timely(bout, line, rules), -bout.amount, bout.id))
        if counts.id != bout_id:
            yield bout_id, counts.id


def _timely(bout: Bout, line: Line, rules: Rules) -> bool:
    """Timely for its own slot; in no slot, entered within 45 min of being done."""
    slot = line.places[line.own(bout)]
    if slot is not None:
        return rules.timely_for(bout, slot)
    return not bout.fill_in and bout.entered_at <= bout.at + rules.timely
