"""Takes a picture with the phone's camera app. Where there is none, pictures are chosen from files."""

from __future__ import annotations

import re
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.device.java import activity, java_class, on_android

if TYPE_CHECKING:
    import android.content.pm

_TAKEN = re.compile(r"loomside-[0-9a-f]{32}\.jpg")
"""The names under which pictures are taken."""


def has_camera() -> bool:
    """True on an Android phone that has a camera."""
    if not on_android():
        return False
    PackageManager: type[android.content.pm.PackageManager] = java_class("android.content.pm.PackageManager")
    return activity().getPackageManager().hasSystemFeature(PackageManager.FEATURE_CAMERA_ANY)


def forget_picture(path: Path) -> None:
    """Remove a picture that `take_picture` made; any other file is left alone."""
    if _TAKEN.fullmatch(path.name):
        with suppress(OSError):
            path.unlink(missing_ok=True)


def take_picture(done: Callable[[Path | None], None]) -> bool:
    """Open the camera app; `done` gets the picture's path, or None when none was taken.

    The phone answers on a thread of its own. The file is the caller's to remove. No permission is needed.

    Returns
    -------
    bool
        False: there is no camera, or it would not open; `done` is not called then.
    """
    if not has_camera():
        return False
    from tracker.device.content import photograph

    return photograph(done)
