"""Keeps the rug's pictures: read under limits, made small enough, written beside the book, with a thumbnail each."""

from __future__ import annotations

import os
from pathlib import Path

from tracker.domain.errors import BookTrouble
from tracker.domain.rug import new_id
from tracker.files.whole import write_whole
from tracker.words import _

THUMBNAIL = ".small.jpg"


def photos_folder(book_path: str | os.PathLike[str]) -> Path:
    """Return the folder in which the pictures of the book at `book_path` lie."""
    path = Path(book_path)
    return path.with_name(path.name + ".photos")


def photo_path(book_path: str | os.PathLike[str], file_name: str) -> Path | None:
    """Return where a picture lies; None when it is not on this phone.

    A name from another phone's book never leads out of the folder: one that would is not there.
    """
    if not file_name or file_name != Path(file_name).name or file_name in (".", ".."):
        return None
    path = photos_folder(book_path) / file_name
    return path if path.is_file() else None


def thumbnail_path(book_path: str | os.PathLike[str], file_name: str) -> Path | None:
    """Return where a picture's thumbnail lies, or the picture itself; None when neither is on this phone."""
    small = photo_path(book_path, Path(file_name).stem + THUMBNAIL) if file_name else None
    return small or photo_path(book_path, file_name)


def keep_photo(book_path: str | os.PathLike[str], source: bytes | str | Path) -> str:
    """Take a picture into the book's folder and return its file name there.

    Raises
    ------
    BadPicture
        It is no picture, broken or too large; nothing was kept.
    BookTrouble
        It could not be written; nothing was kept.
    """
    from tracker.pictures.photo_reader import read_photo

    read = read_photo(source)
    folder, name = photos_folder(book_path), new_id()
    written: list[Path] = []
    try:
        folder.mkdir(exist_ok=True)
        # The picture comes last: once it is there, its thumbnail is, too.
        for data, ending in ((read.thumbnail, THUMBNAIL), (read.photo, ".jpg")):
            write_whole(folder / (name + ending), data)
            written.append(folder / (name + ending))
    except OSError as trouble:
        for path in written:
            path.unlink(missing_ok=True)
        raise BookTrouble(
            _("The picture could not be kept: the phone may be full. Make some room, then try again.")
        ) from trouble
    return name + ".jpg"


def forget_photo(book_path: str | os.PathLike[str], file_name: str) -> None:
    """Remove a picture that was never entered in the book (its act failed)."""
    for path in (photo_path(book_path, file_name), photo_path(book_path, Path(file_name).stem + THUMBNAIL)):
        if path is not None:
            path.unlink(missing_ok=True)
