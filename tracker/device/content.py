"""Files as Android hands them over: by a content address, never by a path."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from tracker.device.java import APPLICATION_ID, activity, api_level, java_class
from tracker.device.results import ask
from tracker.domain.errors import BookTrouble
from tracker.words import _

if TYPE_CHECKING:
    import android.content
    import android.net
    import android.os
    import android.provider
    import androidx.core.content
    import java.io
    import java.lang
    import java.util

AUTHORITY = f"{APPLICATION_ID}.files"
"""As in android/application.xml."""
GIVEN, CAMERA, MADE = "given", "camera", "made"
"""Folders of the cache out of which files may be handed on; as in android/res/xml/shared_files.xml."""
MOST_BYTES = 512 * 2**20
"""A file beyond this is not copied in; what reads it has far lower limits of its own."""
PIECE = 1 << 20
PICK_IMAGES_SINCE = 33
ANY, PICTURES = "*/*", "image/*"


def cache(name: str) -> Path:
    """Return a folder of the cache, made when it is not there."""
    folder = Path(str(activity().getCacheDir().getAbsolutePath())) / name
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _opened(address: android.net.Uri, mode: str) -> BinaryIO:
    descriptor = activity().getContentResolver().openFileDescriptor(address, mode)
    if descriptor is None:
        raise OSError("nothing there")
    return os.fdopen(descriptor.detachFd(), "wb" if "w" in mode else "rb")


def name_of(address: android.net.Uri) -> str:
    """Return the name under which another app shows a file; "" when it does not say."""
    Columns: type[android.provider.OpenableColumns] = java_class("android.provider.OpenableColumns")
    try:
        rows = activity().getContentResolver().query(address, None, None, None, None)  # type: ignore[call-overload]
        if rows is None:
            return ""
        try:
            column = rows.getColumnIndex(Columns.DISPLAY_NAME)
            return str(rows.getString(column) or "") if column >= 0 and rows.moveToFirst() else ""
        finally:
            rows.close()
    except Exception:
        # Another app's provider may raise anything; a name is a comfort, not a need.
        return ""


def take_in(address: android.net.Uri, most_bytes: int = MOST_BYTES) -> Path | None:
    """Copy what lies at a content address into a file of our own; None when it cannot be read or is too large.

    The file keeps the ending of its name, and is the caller's to remove.
    """
    from tracker.domain.rug import new_id

    ending = Path(name_of(address).replace("/", " ")).suffix[:24]
    target = Path(tempfile.mkdtemp(dir=cache("taken"))) / f"{new_id()}{ending}"
    try:
        with _opened(address, "r") as source, target.open("wb") as file:
            taken = 0
            while piece := source.read(PIECE):
                taken += len(piece)
                if taken > most_bytes:
                    raise OSError("too large")
                file.write(piece)
    except Exception:
        # The other app may refuse, vanish or raise its own; nothing was taken in then.
        target.unlink(missing_ok=True)
        target.parent.rmdir()
        return None
    return target


def choose(done: Callable[[Path | None], None], kind: str = ANY) -> bool:
    """Open the system's chooser; `done` gets a file of our own with what was chosen, or None.

    Pictures come through the photo picker where there is one (Android 13 and later). No permission is needed.

    Returns
    -------
    bool
        False: this phone has no chooser; `done` is not called then.
    """
    Intent: type[android.content.Intent] = java_class("android.content.Intent")
    if kind == PICTURES and api_level() >= PICK_IMAGES_SINCE:
        MediaStore: type[android.provider.MediaStore] = java_class("android.provider.MediaStore")
        intent = Intent(MediaStore.ACTION_PICK_IMAGES)
    else:
        intent = Intent(Intent.ACTION_OPEN_DOCUMENT)
        intent.addCategory(Intent.CATEGORY_OPENABLE)
    intent.setType(kind)

    def chosen(answer: android.content.Intent | None) -> None:
        address = answer.getData() if answer is not None else None
        done(take_in(address) if address is not None else None)

    return ask(intent, chosen)


def save(path: Path, kind: str, done: Callable[[bool | None], None]) -> bool:
    """Ask where a file shall be kept and copy it there; `done` is told whether it was, None when no place was chosen.

    Returns
    -------
    bool
        False: this phone does not ask; `done` is not called then.
    """
    Intent: type[android.content.Intent] = java_class("android.content.Intent")
    intent = Intent(Intent.ACTION_CREATE_DOCUMENT)
    intent.addCategory(Intent.CATEGORY_OPENABLE)
    intent.setType(kind)
    intent.putExtra(Intent.EXTRA_TITLE, path.name)

    def chosen(answer: android.content.Intent | None) -> None:
        address = answer.getData() if answer is not None else None
        if address is None:
            done(None)
            return
        try:
            # "wt" cuts off what an older, longer file of that name held
            with path.open("rb") as source, _opened(address, "wt") as target:
                while piece := source.read(PIECE):
                    target.write(piece)
        except Exception:
            # A full card, a cloud folder that is not there: whatever the other app raises, it was not kept.
            done(False)
        else:
            done(True)

    return ask(intent, chosen)


def address_of(path: Path) -> android.net.Uri:
    """Return the content address under which another app may open one of our files, when it is told to."""
    File: type[java.io.File] = java_class("java.io.File")
    Provider: type[androidx.core.content.FileProvider] = java_class("androidx.core.content.FileProvider")
    return Provider.getUriForFile(activity(), AUTHORITY, File(str(path)))


def share(paths: Sequence[Path], kind: str, title: str) -> bool:
    """Open the system's share sheet with files: a neighbour's phone, a message, a printer, whatever it offers.

    Parameters
    ----------
    paths
        The files; copies of them under their names are what leaves.

    Returns
    -------
    bool
        False: the sheet did not open.

    Raises
    ------
    BookTrouble
        The copies could not be made.
    """
    Intent: type[android.content.Intent] = java_class("android.content.Intent")
    String: type[java.lang.String] = java_class("java.lang.String")
    folder = cache(GIVEN)
    try:
        for older in folder.iterdir():
            older.unlink()
        copies = [Path(shutil.copyfile(path, folder / path.name)) for path in paths]
    except OSError as trouble:
        raise BookTrouble(
            _("The file could not be given: the phone may be full. Make some room, then try again.")
        ) from trouble
    if len(copies) == 1:
        intent = Intent(Intent.ACTION_SEND)
        intent.putExtra(Intent.EXTRA_STREAM, address_of(copies[0]))
    else:
        ArrayList: type[java.util.ArrayList] = java_class("java.util.ArrayList")  # type: ignore[type-arg]
        intent = Intent(Intent.ACTION_SEND_MULTIPLE)
        addresses: java.util.ArrayList[android.os.Parcelable] = ArrayList()
        for copy in copies:
            addresses.add(address_of(copy))
        intent.putParcelableArrayListExtra(Intent.EXTRA_STREAM, addresses)
    intent.setType(kind)
    intent.addFlags(Intent.FLAG_GRANT_READ_URI_PERMISSION)
    try:
        activity().startActivity(Intent.createChooser(intent, String(title)))
    except Exception:
        # No app that takes files, or one that refuses.
        return False
    return True


def photograph(done: Callable[[Path | None], None]) -> bool:
    """Open the phone's camera app; `done` gets the picture's file, or None. No permission is needed.

    Returns
    -------
    bool
        False: there is no camera app; `done` is not called then.
    """
    from tracker.domain.rug import new_id

    Intent: type[android.content.Intent] = java_class("android.content.Intent")
    MediaStore: type[android.provider.MediaStore] = java_class("android.provider.MediaStore")
    target = cache(CAMERA) / f"loomside-{new_id()}.jpg"
    intent = Intent(MediaStore.ACTION_IMAGE_CAPTURE)
    intent.putExtra(MediaStore.EXTRA_OUTPUT, address_of(target))
    intent.addFlags(Intent.FLAG_GRANT_WRITE_URI_PERMISSION | Intent.FLAG_GRANT_READ_URI_PERMISSION)

    def taken(answer: android.content.Intent | None) -> None:
        there = answer is not None and target.is_file() and target.stat().st_size > 0
        if not there:
            target.unlink(missing_ok=True)
        done(target if there else None)

    return ask(intent, taken)
