"""Reckons each thing once a process where pages are tested: the same book on the same day has the same answers, the same picture
the same reading. What readings and answers are is tested where they are made."""

from __future__ import annotations

import contextlib
import hashlib
import pickle
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import wraps
from typing import Any
from unittest import mock

from tracker.forecast.outlook import finish_foretold, outlook
from tracker.pictures.paper.opening import OpenedSheet
from tracker.pictures.paper.reading import read_sheet
from tracker.pictures.paper.steps import Progress, StopReading
from tracker.pictures.paper.understood import Reading
from tracker.pictures.paper.wishes import Wish
from tracker.words import language

_answers: dict[bytes, Any] = {}
"""Answers by all that they are reckoned from and the language they are worded in."""
_readings: dict[bytes, tuple[Reading, tuple[float, ...]]] = {}
"""What was understood of each picture, and how far the bar stood whenever it was told."""


def _once(reckon: Callable[..., Any]) -> Callable[..., Any]:
    @wraps(reckon)
    def reckoned(*books: object, **named: object) -> Any:
        key = hashlib.blake2b(pickle.dumps((reckon.__name__, books, named, language()))).digest()
        if key not in _answers:
            _answers[key] = reckon(*books, **named)
        return _answers[key]

    return reckoned


def _read_sheet(
    sheet: OpenedSheet,
    *,
    wish: Wish | None = None,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
) -> Reading:
    """Read as `read_sheet` does; where this was read before, the bar moves as it did then, and it can be stopped as then."""
    key = hashlib.blake2b(pickle.dumps((sheet, wish))).digest()
    told = progress or (lambda share: None)
    if key in _readings:
        reading, shares = _readings[key]
        for share in shares:
            told(share)
            if stop is not None and stop():
                raise StopReading
        return replace(reading, sheet=sheet)
    shares_told: list[float] = []

    def tell(share: float) -> None:
        shares_told.append(share)
        told(share)

    reading = read_sheet(sheet, wish=wish, progress=tell, stop=stop)
    _readings[key] = reading, tuple(shares_told)
    return reading


def forget_readings() -> None:
    """Let the next picture take as long as on a phone."""
    _readings.clear()


@contextlib.contextmanager
def remembering() -> Iterator[None]:
    """Let the app reckon and read so for a while."""
    with (
        mock.patch("tracker.app.cartoons.read_sheet", _read_sheet),
        mock.patch("tracker.forecast.outlook.outlook", _once(outlook)),
        mock.patch("tracker.forecast.outlook.finish_foretold", _once(finish_foretold)),
    ):
        yield
