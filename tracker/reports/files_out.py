"""Where files that leave the app are written: a folder of their own, under names of their own, nothing overwritten."""

from __future__ import annotations

import errno
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from tracker.domain.errors import BookTrouble
from tracker.files.home import home_folder
from tracker.files.whole import write_whole
from tracker.words import _

FOLDER = "Loomside"
LONGEST_NAME = 60
"""Letters of a rug's name kept in a file name."""
LONGEST_BYTES = 150
"""The same in bytes of UTF-8: file systems allow 255 for the whole name."""
NUMBERS = 10_000
"""How many files of one name may lie in a folder."""
RESERVED = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))}
"""Names that Windows keeps for devices."""


def out_folder(documents: Path | None, book_path: Path) -> Path:
    """Return the folder for files to be taken along: among the weaver's documents, or beside the book."""
    return (documents or Path(book_path).parent) / FOLDER


def folder_words(folder: Path) -> str:
    """Return a folder as it is named on a screen, "Documents › Loomside": from the weaver's own folder on, where it lies in it.

    The blanks let a long one wrap.
    """
    folder, home = Path(folder), home_folder()
    if home is not None and folder.is_relative_to(home):
        return " › ".join(folder.relative_to(home).parts)
    inside = folder.parts[1:] if folder.anchor else folder.parts
    return folder.anchor + " › ".join(inside)


def safe_name(name: str) -> str:
    """Return a rug's name as every file system takes it."""
    name_part = "".join(
        " " if letter in '\\/:*?"<>|' or unicodedata.category(letter).startswith("C") else letter
        for letter in unicodedata.normalize("NFC", name)
    )
    name_part = " ".join(name_part.split())[:LONGEST_NAME].strip(" .")
    while len(name_part.encode("utf-8", "ignore")) > LONGEST_BYTES:
        name_part = name_part[:-1].strip(" .")
    return f"{name_part} rug" if name_part.casefold() in RESERVED or not name_part else name_part


def _trouble(error: OSError, folder: Path) -> BookTrouble:
    where = folder_words(folder if folder.name else folder.absolute())
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return BookTrouble(_("There is no room left for the file. Make some room, then try again."))
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return BookTrouble(
            _("{folder} cannot be written to. Allow it, or free the card's lock, then try again.").format(
                folder=where
            )
        )
    if error.errno == errno.ENAMETOOLONG:
        return BookTrouble(_("The file's name is too long. Give it a shorter one, then try again."))
    return BookTrouble(
        _("The file could not be written to {folder}. See that the folder is there, then try again.").format(
            folder=where
        )
    )


def write_numbered(folder: Path, name: str, data: bytes) -> Path:
    """Write a file under `name`, or under "name 2", "name 3"... when there is one already; return its path.

    The file is there whole or not at all.

    Raises
    ------
    BookTrouble
        It could not be written; nothing is left behind, and the same call may be tried again.
    """
    return write_new(folder, name, lambda path: write_whole(path, data))


def write_new(folder: Path, name: str, write: Callable[[Path], object]) -> Path:
    """Let `write` fill a new file whose name is found as in `write_numbered`; return its path.

    Parameters
    ----------
    write
        Gets the path of an empty file, made just now, whose place it takes.

    Raises
    ------
    LoomsideError
        It could not be written; nothing is left behind, and the same call may be tried again.
    """
    folder = Path(folder)
    taken: Path | None = None
    missing: list[Path] = []
    try:
        missing = _missing(folder)
        folder.mkdir(parents=True, exist_ok=True)
        taken = _take_name(folder, name)
        write(taken)
    except BaseException as error:
        _forget(taken)
        _leave(missing)
        if isinstance(error, OSError):
            raise _trouble(error, folder) from error
        raise
    return taken


def _take_name(folder: Path, name: str) -> Path:
    """Make an empty file under the first free name, so that nobody else takes it."""
    stem, ending = Path(name).stem, Path(name).suffix
    for count in range(1, NUMBERS):
        path = folder / (f"{stem}{ending}" if count == 1 else f"{stem} {count}{ending}")
        try:
            with open(path, "xb"):
                return path
        except FileExistsError:
            continue
    raise OSError(errno.EEXIST, "every name is taken")


def write_numbered_folder(folder: Path, name: str, files: Mapping[str, bytes]) -> Path:
    """Write files into a new folder `name` (numbered like a file); return its path.

    Raises
    ------
    BookTrouble
        One of them could not be written; none is left behind.
    """
    made: Path | None = None
    written: list[Path] = []
    missing: list[Path] = []
    try:
        missing = _missing(Path(folder))
        Path(folder).mkdir(parents=True, exist_ok=True)
        for count in range(1, NUMBERS):
            path = Path(folder) / (name if count == 1 else f"{name} {count}")
            try:
                path.mkdir()
            except FileExistsError:
                continue
            made = path
            break
        if made is None:
            raise OSError(errno.EEXIST, "every name is taken")
        for file_name, data in files.items():
            written.append(write_numbered(made, file_name, data))
    except (OSError, BookTrouble) as error:
        _forget(*written)
        _leave([made, *missing] if made is not None else missing)
        if isinstance(error, OSError):
            raise _trouble(error, Path(folder)) from error
        raise
    return made


def _missing(folder: Path) -> list[Path]:
    """Return the folders that are to be made, the innermost first: they go again if nothing comes to lie in them."""
    return [one for one in (folder, *folder.parents) if not one.exists()]


def _leave(made: Iterable[Path]) -> None:
    """Remove folders made just now, the innermost first, as far as they are empty; one that was never made stops nothing."""
    for folder in made:
        try:
            folder.rmdir()
        except FileNotFoundError:
            continue
        except OSError:
            return


def _forget(*paths: Path | None) -> None:
    for path in paths:
        if path is not None:
            try:
                path.unlink(missing_ok=True)
            except OSError:
                continue
