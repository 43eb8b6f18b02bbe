"""Keeps the screen lit while a page is read from the loom."""

from __future__ import annotations


def keep_awake(on: bool) -> bool:
    """Keep the screen lit (`on`), or let it sleep again; False where the window cannot."""
    try:
        from kivy.core.window import Window

        if Window is None:
            return False
        Window.allow_screensaver = not on
    except Exception:
        return False
    return True
