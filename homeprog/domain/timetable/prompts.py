"""Which slots share a prompt."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from .setting import Slot

TOGETHER = timedelta(minutes=10)  # a slot that starts within this of the first joins its prompt

Member = tuple[str, Slot]  # course id, slot


def prompt_groups(
    slots: Iterable[Member],
) -> tuple[tuple[datetime, tuple[Member, ...]], ...]:
    """Prompts in order of time: (due_at, its slots), from all slots of one patient.

    A prompt falls due at its first slot's start. Two slots of one exercise and course never
    share one. Who joins whom depends on who is first: pass slots from the beginning of a
    course day on, not from some minute in the middle of it.
    """
    groups: list[list[Member]] = []
    for member in sorted(slots, key=lambda m: (m[1].start, m[0], m[1].exercise)):
        group = next((g for g in _open_groups(groups, member) if _may_join(g, member)), None)
        if group is None:
            groups.append([member])
        else:
            group.append(member)
    return tuple((group[0][1].start, tuple(group)) for group in groups)


def _open_groups(groups: list[list[Member]], member: Member) -> list[list[Member]]:
    """The prompts whose first slot starts within 10 minutes before this one, earliest first."""
    opened: list[list[Member]] = []
    for group in reversed(groups):
        if member[1].start - group[0][1].start > TOGETHER:
            break
        opened.insert(0, group)
    return opened


def _may_join(group: list[Member], member: Member) -> bool:
    course, slot = member
    return all((other, o.exercise) != (course, slot.exercise) for other, o in group)
