"""Takes a picture with the phone's camera through plyer. Where there is none, pictures are chosen from files."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from tracker.device.service import service
from tracker.domain.rug import new_id

_TAKEN = re.compile(r"loomside-[0-9a-f]{32}\.jpg")
"""The names under which pictures are taken."""


def has_camera() -> bool:
    """True where plyer knows this device's camera (Android, iOS)."""
    return service("camera") is not None


def _shared_folder() -> Path:
    """Return a folder that the camera app can write to."""
    storage = service("storagepath")
    for asked in ("get_pictures_dir", "get_external_storage_dir"):
        try:
            found = getattr(storage, asked)()
        except Exception:
            # plyer raises whatever the phone raises; the next folder is tried.
            continue
        if found and Path(str(found)).is_dir():
            return Path(str(found))
    return Path(tempfile.gettempdir())


def forget_picture(path: Path) -> None:
    """Remove a picture that `take_picture` made; any other file is left alone."""
    if _TAKEN.fullmatch(path.name):
        with suppress(OSError):
            path.unlink(missing_ok=True)


def take_picture(done: Callable[[Path | None], None]) -> bool:
    """Open the camera; `done` gets the picture's path, or None when none was taken.

    The phone answers on a thread of its own. The file is the caller's to remove.

    Returns
    -------
    bool
        False: there is no camera, or it would not open; `done` is not called then.
    """
    camera = service("camera")
    if camera is None:
        return False
    target = _shared_folder() / f"loomside-{new_id()}.jpg"

    def taken(_name: object) -> bool:
        done(target if target.is_file() and target.stat().st_size else None)
        return False

    try:
        camera.take_picture(filename=str(target), on_complete=taken)
    except Exception:
        # plyer raises whatever the phone raises: no camera, no permission, a path the camera app may not write.
        return False
    return True
