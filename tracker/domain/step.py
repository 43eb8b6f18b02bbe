"""The steps in which a scale or a tape is read, told by what was read, and those in which hours are said."""

from __future__ import annotations

import math

FINEST = 0.01
"""No step is finer: forms take no more decimals."""
PARTS, FINE_PARTS = 4, 12
"""Hours that came from the clock or the rows are told in so many parts of an hour, those below one in so many (our own choice)."""


def is_on_step(reading: float, step: float) -> bool:
    """Tell whether a reading is a whole number of steps; both in one unit, `step` above 0."""
    return abs(reading / step - round(reading / step)) < 1e-6


def step_of(named: float, *readings: float) -> float:
    """Return the step that all the readings fit: the one named, else the coarsest finer one of 1, 2, 5 and their tenths.

    Who reads 7 g off a scale does not read it off one that shows 5, 10, 15 g. The named step stays where no finer one down to
    `FINEST` fits, and without a reading.
    """
    if all(is_on_step(reading, named) for reading in readings):
        return named
    series = (digit * 10.0**power for power in range(4, -3, -1) for digit in (5, 2, 1))
    finer = (step for step in series if FINEST - 1e-9 < step < named)
    fitting = (step for step in finer if all(is_on_step(reading, step) for reading in readings))
    return round(next(fitting, named), 2)


def hours_as_said(hours: float) -> float:
    """Return hours as one would say them: to the quarter, below an hour to five minutes; halves of that go up."""
    parts = FINE_PARTS if hours < 1.0 else PARTS
    return math.floor(hours * parts + 0.5) / parts
