"""Sets Kivy up before its first import, and tells whether there is a screen at all."""

from __future__ import annotations

import os
import sys


def has_display() -> bool:
    """True when a window can be opened, or drawn without a screen on request."""
    if sys.platform != "linux" or os.environ.get("ANDROID_PRIVATE"):
        return True
    if os.environ.get("SDL_VIDEODRIVER") in ("offscreen", "dummy"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def prepare_kivy(offscreen: bool = False, size: tuple[int, int] | None = None) -> None:
    """Set Kivy up before its first import: no log files, no config file, no input provider this machine lacks."""
    os.environ.setdefault("KIVY_NO_ARGS", "1")
    os.environ.setdefault("KIVY_NO_CONFIG", "1")
    os.environ.setdefault("KIVY_NO_FILELOG", "1")
    os.environ.setdefault("KIVY_LOG_MODE", "PYTHON")
    if offscreen:
        os.environ["SDL_VIDEODRIVER"] = "offscreen"
        os.environ.setdefault("KIVY_METRICS_DENSITY", "1")
    if sys.platform == "linux" and not os.environ.get("ANDROID_PRIVATE"):
        # Kivy tries libmtdev on import and prints a traceback where it is missing; an empty module says "not here".
        import types

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
