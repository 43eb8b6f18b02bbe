"""Sets Kivy up before its first import, and tells whether there is a screen at all."""

from __future__ import annotations

import importlib
import os
import sys
import types
from pathlib import Path

RULES = Path(__file__).parent / "kivy_rules"
"""Holds a `style.kv` of the widgets that the app uses; Kivy's has ten times as many."""
RULES_OF = "2.3.1"
"""The Kivy whose rules those are; another reads its own."""


def has_display() -> bool:
    """True when a window can be opened, or drawn without a screen on request."""
    if sys.platform != "linux" or os.environ.get("ANDROID_PRIVATE"):
        return True
    if os.environ.get("SDL_VIDEODRIVER") in ("offscreen", "dummy"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def leave_out_of_kivy() -> None:
    """Import the parts of Kivy that take the longest without what this app does not use.

    Notes
    -----
    Kivy reads the rules of all its widgets, imports Pillow to load pictures in formats that SDL does not know (our icons
    are PNG; photographs are read by `tracker.pictures`), and asyncio for apps that run within it: a third of the time
    that an app of one label takes to start. Pillow and asyncio are still there for whoever imports them.
    """
    import kivy

    kivy.kivy_options["image"] = tuple(one for one in kivy.kivy_options["image"] if one == "sdl2")
    if "kivy.clock" not in sys.modules and "asyncio" not in sys.modules:
        unused = types.ModuleType("asyncio")
        unused.wait_for = None  # type: ignore[attr-defined]
        sys.modules["asyncio"] = unused
        try:
            importlib.import_module("kivy.clock")
        finally:
            del sys.modules["asyncio"]
    if "kivy.lang.builder" not in sys.modules and kivy.__version__ == RULES_OF:
        # Kivy looks for all else in its own folder still.
        importlib.import_module("kivy.resources")
        whole, kivy.kivy_data_dir = kivy.kivy_data_dir, str(RULES)
        try:
            importlib.import_module("kivy.lang.builder")
        finally:
            kivy.kivy_data_dir = whole


def prepare_kivy(offscreen: bool = False, size: tuple[int, int] | None = None, whole: bool = False) -> None:
    """Set Kivy up before its first import: no log files, no config file, no input provider this machine lacks.

    Parameters
    ----------
    whole
        Leave Kivy as it comes, as a yardstick of any Kivy app does.
    """
    os.environ.setdefault("KIVY_NO_ARGS", "1")
    os.environ.setdefault("KIVY_NO_CONFIG", "1")
    os.environ.setdefault("KIVY_NO_FILELOG", "1")
    os.environ.setdefault("KIVY_LOG_MODE", "PYTHON")
    if offscreen:
        os.environ["SDL_VIDEODRIVER"] = "offscreen"
        os.environ.setdefault("KIVY_METRICS_DENSITY", "1")
    if sys.platform == "linux" and not os.environ.get("ANDROID_PRIVATE"):
        # Kivy tries libmtdev on import and prints a traceback where it is missing; an empty module says "not here".
        if not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
            os.environ.setdefault("KIVY_CLIPBOARD", "dummy")
        sys.modules.setdefault("kivy.input.providers.mtdev", types.ModuleType("kivy.input.providers.mtdev"))
    import logging

    logging.getLogger("kivy").addFilter(lambda record: not record.getMessage().startswith("Cutbuffer"))
    from kivy.config import Config

    Config.set("kivy", "exit_on_escape", "0")
    for name, _provider in list(Config.items("input")):
        if name != "mouse":
            Config.remove_option("input", name)
    Config.set("input", "mouse", "mouse,disable_multitouch")
    width, height = size or (412, 892)
    Config.set("graphics", "width", str(width))
    Config.set("graphics", "height", str(height))
    Config.set("graphics", "maxfps", "0" if offscreen else "60")
    if not whole:
        leave_out_of_kivy()
