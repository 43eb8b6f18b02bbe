"""The phone's own chooser, and where files meant for others go. Elsewhere the app shows its own list of folders."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from tracker.device.java import on_android
from tracker.device.service import service


def has_chooser() -> bool:
    """True on Android, where pictures and files are chosen in the system's own way."""
    return on_android()


def choose_picture(done: Callable[[Path | None], None]) -> None:
    """Let the phone ask for a picture; `done` gets a copy of it, or None when nothing was chosen.

    The phone answers on a thread of its own.
    """
    from tracker.device.content import PICTURES, choose

    if not choose(done, PICTURES):
        done(None)


def choose_file(done: Callable[[Path | None], None]) -> None:
    """Let the phone ask for any file; `done` gets a copy of it, or None. The phone answers on a thread of its own."""
    from tracker.device.content import choose

    if not choose(done):
        done(None)


def shared_folder() -> Path:
    """Return the folder for files meant for others: the phone's downloads, where every file app looks."""
    if on_android():
        try:
            found = service("storagepath").get_downloads_dir()  # type: ignore[union-attr]
            if found and os.access(str(found), os.W_OK):
                return Path(str(found))
        except Exception:
            # plyer raises whatever the phone raises; the app's own folder serves then.
            pass
        return Path(os.environ.get("ANDROID_PRIVATE") or Path.home())
    home = Path.home()
    return next(
        (home / name for name in ("Downloads", "Download", "Documents") if (home / name).is_dir()), home
    )


def picture_folders() -> tuple[Path, ...]:
    """Return the folders in which a weaver's pictures are likely to lie, those that are there."""
    home = Path.home()
    likely = [home / name for name in ("Pictures", "Downloads", "Download", "Documents")]
    return tuple(folder for folder in (*likely, home) if folder.is_dir()) or (Path("/"),)
