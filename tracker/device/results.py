"""Asks another app for something and hands back what it answers."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING

from tracker.device.java import activity, java_class

if TYPE_CHECKING:
    import android.app
    import android.content

FIRST_CODE = 4100
"""Other parts of Kivy use small codes."""
_codes = itertools.count(FIRST_CODE)
_waiting: dict[int, Callable[[android.content.Intent | None], None]] = {}
_listening: list[bool] = []


def _answered(code: int, result: int, data: android.content.Intent | None) -> None:
    done = _waiting.pop(code, None)
    if done is None:
        return
    Activity: type[android.app.Activity] = java_class("android.app.Activity")
    if result != Activity.RESULT_OK:
        done(None)
        return
    Intent: type[android.content.Intent] = java_class("android.content.Intent")
    done(Intent() if data is None else data)


def ask(intent: android.content.Intent, done: Callable[[android.content.Intent | None], None]) -> bool:
    """Start another app; `done` gets its answer on Android's thread, None when nothing was chosen.

    An answer that says "done" and nothing else, as a camera's may, is an empty intent.

    Returns
    -------
    bool
        False: no app of this phone does this; `done` is not called then.
    """
    if not _listening:
        import_module("android.activity").bind(on_activity_result=_answered)
        _listening.append(True)
    code = next(_codes)
    _waiting[code] = done
    try:
        activity().startActivityForResult(intent, code)
    except Exception:
        # ActivityNotFoundException or SecurityException, as pyjnius hands them on.
        del _waiting[code]
        return False
    return True
