"""Opens what somebody chose as a file: only a regular one, never waited for, never read beyond a limit.

A name may lead to a device that never ends, to a pipe on which nobody writes, or to a file that grows while it is read.
Whatever reads a file that this app did not just write itself reads it through here.
"""

from __future__ import annotations

import contextlib
import errno
import io
import os
import stat
from pathlib import Path
from typing import Any, BinaryIO, cast

_BLOCK = 1 << 20

_held: dict[tuple[int, int], int] = {}
"""Descriptors of files that somebody in this process holds locked, by device and inode; see `hold`."""


def hold(handle: int) -> None:
    """Say that the file behind a descriptor is locked by this process until `let_go`.

    Closing any descriptor of a file drops all POSIX locks that the process has on it (fcntl(2)), among them those of
    SQLite: while it is held, the file is read through this descriptor, which nobody closes.
    """
    told = os.fstat(handle)
    _held[told.st_dev, told.st_ino] = handle


def let_go(handle: int) -> None:
    """Take back `hold`, before the descriptor is closed."""
    for key, other in list(_held.items()):
        if other == handle:
            del _held[key]


def is_held(path: str | os.PathLike[str]) -> bool:
    """Tell whether the file at `path`, by this or another of its names, is held by this process."""
    told = os.stat(path)
    return (told.st_dev, told.st_ino) in _held


class _Held(io.RawIOBase):
    """A file read through a descriptor of somebody else's, with a place of its own in it."""

    def __init__(self, handle: int) -> None:
        self._handle = handle
        self._at = 0

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def fileno(self) -> int:
        return self._handle

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        base = (0, self._at, os.fstat(self._handle).st_size)[whence]
        self._at = max(0, base + offset)
        return self._at

    def readinto(self, buffer: Any) -> int:
        data = os.pread(self._handle, len(buffer), self._at)
        buffer[: len(data)] = data
        self._at += len(data)
        return len(data)


class NotRegular(OSError):
    """A folder, a pipe, a socket or a device is there instead of a file."""


class TooLarge(OSError):
    """There is more to read than was allowed; `size_bytes` is what is known of its size."""

    def __init__(self, size_bytes: int) -> None:
        super().__init__(errno.EFBIG, "more than was asked for")
        self.size_bytes = size_bytes


def open_regular(path: str | os.PathLike[str]) -> BinaryIO:
    """Return the regular file at `path`, opened for reading bytes.

    What was opened is looked at, not what the name meant a moment before, and opening never waits for a writer.

    Raises
    ------
    NotRegular
        Something else than a regular file is there.
    OSError
        It cannot be opened.
    """
    with contextlib.suppress(OSError):
        told = os.stat(path)
        if (told.st_dev, told.st_ino) in _held:
            return cast(BinaryIO, io.BufferedReader(_Held(_held[told.st_dev, told.st_ino])))
    flags = os.O_RDONLY
    for name in ("O_NONBLOCK", "O_NOCTTY", "O_CLOEXEC", "O_BINARY"):  # each system has those it needs
        flags |= getattr(os, name, 0)
    try:
        handle = os.open(path, flags)
    except OSError as error:
        if error.errno in (errno.ENXIO, errno.ENODEV):  # a socket, or a device that is not there
            raise NotRegular(error.errno, "not a regular file", os.fspath(path)) from error
        raise
    try:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise NotRegular(errno.EINVAL, "not a regular file", os.fspath(path))
        return os.fdopen(handle, "rb")
    except BaseException:
        os.close(handle)
        raise


def read_regular(path: str | os.PathLike[str], most_bytes: int) -> bytes:
    """Return the bytes of the regular file at `path`, whatever size it says it has.

    Raises
    ------
    NotRegular
        Something else than a regular file is there.
    TooLarge
        It holds more than `most_bytes`; no more than one byte beyond them was read.
    OSError
        It cannot be read.
    """
    with open_regular(path) as file:
        size = os.fstat(file.fileno()).st_size
        if size > most_bytes:
            raise TooLarge(size)
        parts, left = [], most_bytes + 1
        while left and (part := file.read(min(left, _BLOCK))):
            parts.append(part)
            left -= len(part)
        if not left:
            raise TooLarge(most_bytes + 1)
    return b"".join(parts)


def copy_regular(source: str | os.PathLike[str], target: Path, most_bytes: int) -> None:
    """Copy a regular file to a new one; errors as `read_regular`, and then no `target` is left.

    Raises
    ------
    NotRegular, TooLarge, OSError
        See `read_regular`.
    """
    with open_regular(source) as file:
        if os.fstat(file.fileno()).st_size > most_bytes:
            raise TooLarge(os.fstat(file.fileno()).st_size)
        # "x": a file that is there already is neither overwritten nor, on failure, removed.
        with open(target, "xb") as copy:
            try:
                left = most_bytes + 1
                while left and (part := file.read(min(left, _BLOCK))):
                    copy.write(part)
                    left -= len(part)
                if not left:
                    raise TooLarge(most_bytes + 1)
            except BaseException:
                target.unlink(missing_ok=True)
                raise
