"""Balanced orders: Williams squares, in which each coffee follows each other equally often."""

from __future__ import annotations


def williams(samples: int) -> tuple[tuple[int, ...], ...]:
    """Orders of so many samples, from 1: as many as samples if even, twice as many if odd.

    Williams 1949; the square for six was compared with a published one.

    >>> williams(4)
    ((1, 2, 4, 3), (2, 3, 1, 4), (3, 4, 2, 1), (4, 1, 3, 2))
    """
    if samples < 1:
        raise ValueError("there is at least one sample")
    first = [0]
    low, high = 1, samples - 1
    while len(first) < samples:
        first.append(low)
        low += 1
        if len(first) < samples:
            first.append(high)
            high -= 1
    rows = [tuple((value + shift) % samples + 1 for value in first) for shift in range(samples)]
    if samples % 2 == 0 or samples == 1:
        return tuple(rows)
    return (*rows, *(tuple(reversed(row)) for row in rows))
