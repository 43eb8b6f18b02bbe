"""The folder of whoever runs the app, where there is one."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path


def home_folder() -> Path | None:
    """Return this user's own folder; None where the system names none, as for a service or in a bare container."""
    with suppress(RuntimeError):
        home = Path.home()
        return home if home.is_absolute() else None
    return None
