"""Credit by trying every way to cut a day, written apart from the product and sharing none of it.

Minutes are plain numbers, a slot is (start, end, dose), a bout (id, minute, amount, entered).
"""

from itertools import combinations_with_replacement

GRACE, TIMELY = 15, 45


def edges_of(slots):
    return sorted({minute for start, end, _ in slots for minute in (start, end)})


def slot_between(slots, low, high):
    """The number of the slot that fills the stretch from one edge to the next, if any."""
    for number, (start, end, _) in enumerate(slots):
        if start <= low and high <= end:
            return number
    return None


def allowed(slots, minute):
    """Every slot (None: no slot) that a bout done at `minute` may go to."""
    home = next((n for n, (start, end, _) in enumerate(slots) if start <= minute < end), None)
    ways = {home}
    for number, (start, end, _) in enumerate(slots):
        if number == home:
            continue
        for edge in (start, end):
            sharing = [s for s in slots if edge in (s[0], s[1])]
            grace = min([GRACE] + [(s[1] - s[0]) / 4 for s in sharing])
            touches_home = home is None or slots[home] in sharing
            if touches_home and abs(minute - edge) <= grace:
                ways.add(number)
    return ways


def ways_to_cut(slots, bouts):
    """Every (cuts, places): cut k is how many bouts, in order of time, lie left of edge k."""
    edges = edges_of(slots)
    for cuts in combinations_with_replacement(range(len(bouts) + 1), len(edges)):
        stretches = [sum(cut <= number for cut in cuts) for number in range(len(bouts))]
        places = [
            None if s in (0, len(edges)) else slot_between(slots, edges[s - 1], edges[s])
            for s in stretches
        ]
        if all(p in allowed(slots, b[1]) for p, b in zip(places, bouts, strict=True)) and all(
            place is not None or in_stretch(edges, stretch, bout[1])
            for place, stretch, bout in zip(places, stretches, bouts, strict=True)
        ):
            yield cuts, places


def in_stretch(edges, stretch, minute):
    """A bout in no slot stays in its own gap."""
    return sum(edge <= minute for edge in edges) == stretch


def sums(slots, bouts, places, excused):
    """Credit by timely bouts and by all, summed over the slots that are asked for."""
    timely = told = 0
    for number, (_, end, dose) in enumerate(slots):
        if number in excused:
            continue
        here = [b for b, place in zip(bouts, places, strict=True) if place == number]
        timely += min(dose, sum(b[2] for b in here if b[3] <= end + TIMELY))
        told += min(dose, sum(b[2] for b in here))
    return timely, told


def best(slots, bouts, excused=()):
    """(id -> number of its slot or None, credit by timely bouts, credit by all)."""
    bouts = sorted(bouts, key=lambda b: (b[1], b[0]))
    winner = None
    for cuts, places in ways_to_cut(slots, bouts):
        at_home = sum(
            place == next((n for n, (a, z, _) in enumerate(slots) if a <= b[1] < z), None)
            for b, place in zip(bouts, places, strict=True)
        )
        rank = (*sums(slots, bouts, places, excused), at_home, tuple(-cut for cut in cuts))
        if winner is None or rank > winner[0]:
            winner = (rank, places)
    (timely, told, *_), places = winner
    return {b[0]: p for b, p in zip(bouts, places, strict=True)}, timely, told
