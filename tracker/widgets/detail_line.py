"""A label and what it says, side by side; one below the other where the type is large."""

from __future__ import annotations

from kivy.properties import BooleanProperty, NumericProperty, StringProperty

from tracker.widgets.basics import Column, load_kv


class DetailLine(Column):
    """A label and what it says."""

    label = StringProperty("")
    answer = StringProperty("")
    share = NumericProperty(0.6)
    """Of the width, the part of what it says."""
    sum = BooleanProperty(False)
    """Whether it is one of several numbers that add up: they stand below each other at the right."""


load_kv(__file__)
