"""Which labels along a scale fit without running into each other."""

from __future__ import annotations


def without_overlap(heights: list[float], least: float) -> list[int]:
    """Return which of the heights (rising) can carry a label without two coming nearer than `least`.

    The last one is always among them, so that the end of the rug is never without its day.
    """
    kept: list[int] = []
    for index, height in enumerate(heights):
        if not kept or height - heights[kept[-1]] >= least:
            kept.append(index)
    last = len(heights) - 1
    if kept and kept[-1] != last:
        while kept and heights[last] - heights[kept[-1]] < least:
            kept.pop()
        kept.append(last)
    return kept
