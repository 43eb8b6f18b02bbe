"""Which labels along a scale fit without running into each other."""

from __future__ import annotations


def without_overlap(heights: list[float], least: float) -> list[int]:
    """Return which of the heights (rising) can carry a label without two coming nearer than `least`.

    The last one is always among them, so that the end of the rug is never without its day.
    """
    shown: list[int] = []
    for index, height in enumerate(heights):
        if not shown or height - heights[shown[-1]] >= least:
            shown.append(index)
    last = len(heights) - 1
    if shown and shown[-1] != last:
        while shown and heights[last] - heights[shown[-1]] < least:
            shown.pop()
        shown.append(last)
    return shown
