"""The phone's own picture chooser. Elsewhere the app shows its own list of folders."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path


def has_chooser() -> bool:
    """True on Android, where pictures are chosen in the system's own way."""
    return bool(os.environ.get("ANDROID_ARGUMENT") or os.environ.get("ANDROID_PRIVATE"))


def choose_picture(done: Callable[[Path | None], None]) -> None:
    """Let the phone ask for a picture; `done` gets its path, or None when nothing was chosen.

    The phone answers on a thread of its own.
    """
    from plyer import filechooser

    def chosen(selection: list[str] | None) -> None:
        done(Path(selection[0]) if selection else None)

    try:
        filechooser.open_file(on_selection=chosen, filters=["image"], multiple=False)
    except Exception:
        # plyer raises whatever the phone raises; without a chooser nothing was chosen.
        done(None)


def choose_file(done: Callable[[Path | None], None]) -> None:
    """Let the phone ask for any file; `done` gets its path, or None. The phone answers on a thread of its own."""
    from plyer import filechooser

    try:
        filechooser.open_file(
            on_selection=lambda found: done(Path(found[0]) if found else None), multiple=False
        )
    except Exception:
        # plyer raises whatever the phone raises; without a chooser nothing was chosen.
        done(None)


def shared_folder() -> Path:
    """Return the folder for files meant for others: the phone's downloads, where every file app looks."""
    from tracker.device.service import service

    if has_chooser():
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
