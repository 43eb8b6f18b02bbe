"""What a weaver is reminded of while the app is closed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Reminder:
    """One reminder, in words that are ready to show."""

    kind: str
    """Which channel it comes on, such as "session"; each kind can be switched off in the phone's own settings."""
    channel: str
    """What the phone's settings call the channel."""
    due: datetime
    """When it is due by the phone's own clock (naive, local); the phone may bring it a little later."""
    until: datetime
    """After this it is of no use any more and is not shown."""
    title: str
    words: str
    page: str
    """The page that a tap on it opens."""
    rug_id: str = ""
