"""Reads rows straight from the pages of a damaged SQLite file and its journal, without SQLite.

SQLite gives up where a page between it and the rows is broken; the rows on whole pages are still there. The layout
is the published one (sqlite.org/fileformat2.html). What is read here is only a guess until its seal proves it.
"""

from __future__ import annotations

import contextlib
import itertools
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tracker.files.regular import open_regular

PAGE_SIZE = 4096
"""Every book is made with pages of this size, see `storage.book.make_fresh`."""

_WAL_HEADER = 32
_FRAME_HEADER = 24
_WAL_MAGIC = (0x377F0682, 0x377F0683)
_MOST_ROW_BYTES = 64 * 1024**2


def _varint(data: bytes, offset: int) -> tuple[int, int]:
    """Return a variable-length integer and the position after it."""
    value = 0
    for step in range(9):
        byte = data[offset + step]
        if step == 8:
            return (value << 8) | byte, offset + 9
        value = (value << 7) | (byte & 0x7F)
        if byte < 0x80:
            return value, offset + step + 1
    raise IndexError


def _signed(value: int) -> int:
    return value - (1 << 64) if value >= 1 << 63 else value


def _record(payload: bytes) -> list[Any]:
    """Return the values of a record; ValueError or IndexError if it is none."""
    length, offset = _varint(payload, 0)
    if length > len(payload):
        raise ValueError("a header longer than its record")
    kinds = []
    while offset < length:
        kind, offset = _varint(payload, offset)
        kinds.append(kind)
    values: list[Any] = []
    offset = length
    for kind in kinds:
        if kind == 0:
            values.append(None)
            size = 0
        elif kind <= 6:
            size = (0, 1, 2, 3, 4, 6, 8)[kind]
            values.append(int.from_bytes(payload[offset : offset + size], "big", signed=True))
        elif kind == 7:
            size = 8
            values.append(struct.unpack(">d", payload[offset : offset + 8])[0])
        elif kind in (8, 9):
            values.append(kind - 8)
            size = 0
        elif kind < 12:
            raise ValueError("a kind of value that is not in use")
        else:
            size = (kind - 12) // 2
            part = payload[offset : offset + size]
            values.append(part.decode("utf-8") if kind % 2 else part)
        offset += size
        if offset > len(payload):
            raise ValueError("a record cut short")
    if offset != len(payload):
        raise ValueError("a record with something left over")
    return values


def _checksum(order: str, data: bytes, sums: tuple[int, int]) -> tuple[int, int]:
    """Return the journal's running checksum over more bytes: www.sqlite.org/fileformat2.html, 4.2."""
    first_sum, second_sum = sums
    words = struct.unpack(f"{order}{len(data) // 4}I", data)
    for first, second in zip(words[::2], words[1::2], strict=True):
        first_sum = (first_sum + first + second_sum) & 0xFFFFFFFF
        second_sum = (second_sum + second + first_sum) & 0xFFFFFFFF
    return first_sum, second_sum


class _Pages:
    """The pages of a file, with those a journal holds on top of it."""

    def __init__(self, path: Path, with_journal: bool, as_sqlite: bool) -> None:
        self.file = open_regular(path)
        self.size = PAGE_SIZE  # the header may be the very page that broke
        self.file.seek(0, 2)
        self.bytes = self.file.tell()
        journal = path.with_name(path.name + "-wal")
        self.journal = open_regular(journal) if with_journal and journal.is_file() else None
        self.pages_in_all = 0
        """Pages of the whole book after the last commit in the journal; 0: it holds none."""
        self.frames: list[tuple[int, int]] = []
        """(page number, position in the journal) of every committed frame."""
        if self.journal is not None:
            self._find_frames(as_sqlite)
        self.newest = dict(self.frames)

    def close(self) -> None:
        """Let go of the files."""
        self.file.close()
        if self.journal is not None:
            self.journal.close()

    def _find_frames(self, as_sqlite: bool) -> None:
        journal = self.journal
        assert journal is not None
        header = journal.read(_WAL_HEADER)
        if len(header) < _WAL_HEADER:
            return
        salts = header[16:24] if int.from_bytes(header[:4], "big") in _WAL_MAGIC else None
        frames: list[tuple[int, int]] = []
        committed = 0
        offset = _WAL_HEADER
        order = ">" if header[3] & 1 else "<"
        sums = _checksum(order, header[:24], (0, 0))
        if as_sqlite and (salts is None or struct.pack(">II", *sums) != header[24:32]):
            return
        while True:
            journal.seek(offset)
            frame = journal.read(_FRAME_HEADER)
            if len(frame) < _FRAME_HEADER:
                break
            if as_sqlite:
                page = journal.read(self.size)
                if len(page) < self.size or frame[8:16] != salts:
                    break
                sums = _checksum(order, page, _checksum(order, frame[:8], sums))
                if struct.pack(">II", *sums) != frame[16:24]:
                    break
            number, commit = struct.unpack(">II", frame[:8])
            salts = frame[8:16] if salts is None else salts
            if frame[8:16] == salts and number:
                frames.append((number, offset + _FRAME_HEADER))
                if commit:
                    committed = len(frames)
                    self.pages_in_all = commit
            offset += _FRAME_HEADER + self.size
        # What stands after the last commit belongs to an act that was never acknowledged.
        self.frames = frames[:committed]

    def page(self, number: int) -> bytes:
        """Return the newest content of a page; IndexError if there is no such page."""
        place = self.newest.get(number)
        if place is not None and self.journal is not None:
            self.journal.seek(place)
            return self._whole(self.journal.read(self.size))
        if number < 1 or (number - 1) * self.size >= self.bytes:
            raise IndexError
        self.file.seek((number - 1) * self.size)
        return self._whole(self.file.read(self.size))

    def _whole(self, data: bytes) -> bytes:
        return data.ljust(self.size, b"\x00")

    def all(self, in_file: bool) -> Iterator[tuple[bytes, int]]:
        """Yield every page there is, in every state the files still hold, with the offset of its header."""
        for number in range(1, -(-self.bytes // self.size) + 1) if in_file else ():
            self.file.seek((number - 1) * self.size)
            yield self._whole(self.file.read(self.size)), 100 if number == 1 else 0
        if self.journal is not None:
            for number, place in self.frames:
                self.journal.seek(place)
                yield self._whole(self.journal.read(self.size)), 100 if number == 1 else 0


def image(path: Path, most_bytes: int) -> bytearray:
    """Return the book at `path` as SQLite would see it, its journal replayed, without touching either file.

    The head says that there is no journal: the image is whole by itself.

    Raises
    ------
    ValueError
        It is larger than `most_bytes`.
    OSError
        It cannot be read.
    """
    pages = _Pages(path, with_journal=True, as_sqlite=True)
    try:
        last = pages.pages_in_all or -(-pages.bytes // pages.size)
        if last * pages.size > most_bytes:
            raise ValueError("too large to be held in memory")
        whole = bytearray(pages.size * last)
        for number in range(1, last + 1):
            with contextlib.suppress(IndexError):  # a page that neither holds was never written
                whole[(number - 1) * pages.size : number * pages.size] = pages.page(number)
    finally:
        pages.close()
    whole[18:20] = b"\x01\x01"  # www.sqlite.org/fileformat2.html, 1.3: versions for writing and reading
    return whole


def rows(
    path: Path,
    most_bytes: int | None = None,
    *,
    in_file: bool = True,
    in_journal: bool = True,
    as_sqlite: bool = False,
) -> Iterator[tuple[int, list[Any]]]:
    """Yield (row number, values) of every row that can be read from the pages of the file and its journal.

    Parameters
    ----------
    most_bytes
        How much is looked through at most; None: all of it.
    in_file, in_journal
        False: the pages of the file, or of its journal, are left out. A long row of the file is then read without the
        journal, one of the journal with the file's pages under it.
    as_sqlite
        Of the journal, only what SQLite itself would replay: up to the first frame whose checksum is broken.

    Rows come in no order, some more than once, and some may be nonsense: nothing here is proven yet. A column that
    is the table's integer key comes as None; the row number stands for it.
    """
    pages = _Pages(path, in_journal, as_sqlite)
    try:
        left = None if most_bytes is None else most_bytes // pages.size
        for page, offset in itertools.islice(pages.all(in_file), left):
            yield from _rows_of_page(pages, page, offset)
    finally:
        pages.close()


def _rows_of_page(pages: _Pages, page: bytes, offset: int) -> Iterator[tuple[int, list[Any]]]:
    # The type of the page is not asked for: it may be the very byte that broke.
    count = int.from_bytes(page[offset + 3 : offset + 5], "big")
    usable = pages.size
    if count > usable // 4:
        count = usable // 4
    for index in range(count):
        place = offset + 8 + 2 * index
        cell = int.from_bytes(page[place : place + 2], "big")
        if not offset + 8 <= cell < usable:
            continue
        try:
            length, after = _varint(page, cell)
            number, after = _varint(page, after)
            if length > _MOST_ROW_BYTES:
                continue
            yield _signed(number), _record(_payload(pages, page, after, length))
        except (ValueError, IndexError, struct.error, UnicodeDecodeError, OverflowError):
            continue


def _payload(pages: _Pages, page: bytes, offset: int, length: int) -> bytes:
    """Return a row's bytes, following the pages onto which a long row flows over."""
    usable = pages.size
    most = usable - 35
    if length <= most:
        return page[offset : offset + length]
    least = (usable - 12) * 32 // 255 - 23
    local = least + (length - least) % (usable - 4)
    if local > most:
        local = least
    parts = [page[offset : offset + local]]
    have = local
    following = int.from_bytes(page[offset + local : offset + local + 4], "big")
    steps = 0
    while have < length:
        steps += 1
        if following == 0 or steps > length // (usable - 4) + 2:
            raise ValueError("a long row that breaks off")
        more = pages.page(following)
        following = int.from_bytes(more[:4], "big")
        parts.append(more[4 : 4 + min(usable - 4, length - have)])
        have += len(parts[-1])
    return b"".join(parts)
