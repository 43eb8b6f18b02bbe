"""Finds a service of this device through plyer; says None, quietly, where there is none."""

from __future__ import annotations

import importlib
import warnings
from functools import cache
from typing import Any


@cache
def service(name: str) -> Any | None:
    """Return plyer's service `name` ("tts", "notification", "vibrator") as this device offers it, or None.

    Plyer's own lazy proxy prints a traceback where a service is missing, and hands out an empty one; here the
    missing service is told apart before anything is asked of it.
    """
    try:
        facade = importlib.import_module(f"plyer.facades.{name}")
        from plyer.utils import platform

        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            facade_here = importlib.import_module(f"plyer.platforms.{platform}.{name}").instance()
    except Exception:
        return None
    empty = facade_here is None or type(facade_here).__module__ == facade.__name__
    return None if empty else facade_here
