"""What fields ask about the phone's keyboard. The app puts the answer in: parts of a page know no device."""

from __future__ import annotations

from collections.abc import Callable

was_put_away: list[Callable[[], bool]] = []
"""Each tells whether the keyboard that a field asked for is away though nobody told the window."""
