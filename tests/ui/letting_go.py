"""Tells whether widgets that are done with were let go."""

from __future__ import annotations

import gc
import weakref
from collections.abc import Iterable

from kivy.uix.widget import Widget

from tests.ui.handed_time import pass_time

FADING_S = 4.0
"""Longer than a scroll bar takes to fade, and to fade again after the page behind it was laid out anew; it holds its page until then."""


def references_to(roots: Iterable[Widget]) -> list[weakref.ref]:
    """Return references that keep nothing alive, to all widgets below some."""
    return [weakref.ref(widget) for root in roots for widget in root.walk(restrict=True)]


def still_there(references: list[weakref.ref]) -> list[str]:
    """Return the kinds of those widgets that are not let go."""
    pass_time(FADING_S)
    gc.collect()
    return [type(reference()).__name__ for reference in references if reference() is not None]
