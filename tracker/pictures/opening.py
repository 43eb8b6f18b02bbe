"""Takes in the bytes of a picture file: from a regular file only, under a limit, in no more parts than it needs."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PIL import Image

from tracker.domain.errors import BadPicture
from tracker.files.regular import NotRegular, TooLarge, read_regular
from tracker.pictures import limits
from tracker.words import _

Source = bytes | bytearray | str | Path


def picture_bytes(source: Source, most_bytes: int) -> bytes:
    """Return the bytes of a picture given as such or as a path.

    Raises
    ------
    BadPicture
        It is made of so many small parts that reading them would take long.
    regular_file.NotRegular, regular_file.TooLarge, OSError
        See `regular_file.read_regular`; each kind of picture has its own sentences for these.
    """
    data = read_regular(source, most_bytes) if isinstance(source, (str, Path)) else bytes(source)
    if too_many_parts(data):
        raise BadPicture(
            _("This picture file is made of too many small pieces. Open it in another app and save it again.")
        )
    return data


def check_single(image: Image.Image) -> None:
    """Refuse a file of several pictures: which of them is the cartoon is not known, and the first may be empty.

    A JPEG of several is a camera's photograph with its previews.

    Raises
    ------
    BadPicture
        With a sentence that says what to do.
    """
    if image.format != "MPO" and getattr(image, "is_animated", False):
        raise BadPicture(_("This file holds several pictures. Save the one you want by itself."))


def no_file() -> BadPicture:
    """Return the error for a folder, pipe or device chosen as a picture."""
    return BadPicture(_("This is a folder or a device, not a file. Choose a picture."))


def cartoon_bytes(source: Source, name: str, too_large: Callable[[int], BadPicture]) -> tuple[bytes, str]:
    """Return the bytes of a picture of a cartoon, and its name: a path gives its own where none is said.

    Parameters
    ----------
    too_large
        Makes the error of a file of so many bytes.

    Raises
    ------
    BadPicture
        It cannot be opened, is empty, larger than `limits.MAX_CARTOON_FILE_BYTES`, or as `picture_bytes`.
    """
    if isinstance(source, (str, Path)):
        name = name or Path(source).name
    elif len(source) > limits.MAX_CARTOON_FILE_BYTES:
        raise too_large(len(source))
    try:
        data = picture_bytes(source, limits.MAX_CARTOON_FILE_BYTES)
    except NotRegular as trouble:
        raise no_file() from trouble
    except TooLarge as trouble:
        raise too_large(trouble.size_bytes) from trouble
    except OSError as trouble:
        raise BadPicture(
            _("The picture could not be opened. Check that the file is still there.")
        ) from trouble
    if not data:
        raise BadPicture(_("The file is empty. Choose another picture."))
    return data, name


def too_many_parts(data: bytes) -> bool:
    """Tell whether a PNG, GIF, JPEG or TIFF file has more parts than `limits` allows; it is not looked into further."""
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return _png_parts(data)
    if data.startswith((b"GIF87a", b"GIF89a")):
        return _gif_parts(data)
    if data.startswith(b"\xff\xd8"):
        return _jpeg_parts(data)
    if data[:4] in _TIFF:
        return _tiff_parts(data)
    return False


def _png_parts(data: bytes) -> bool:
    offset = 8
    for _part in range(limits.MAX_FILE_PARTS):
        if offset + 12 > len(data):
            return False
        offset += 12 + int.from_bytes(data[offset : offset + 4], "big")
    return True


def _jpeg_parts(data: bytes) -> bool:
    # Up to the pixels: what follows is read by the decoder's own machine code. Pillow takes filling bytes one by one.
    offset = 2
    parts = joined = 0
    while parts < limits.MAX_FILE_PARTS and joined <= limits.MAX_JOINED_NOTES:
        parts += 1
        if offset + 4 > len(data) or data[offset : offset + 2] == b"\xff\xda":
            return False
        if data[offset] != 0xFF or data[offset + 1] in (0x00, 0xFF) or 0xD0 <= data[offset + 1] <= 0xD9:
            offset += 1
            continue
        end = offset + 2 + max(2, int.from_bytes(data[offset + 2 : offset + 4], "big"))
        joined += data.startswith(b"Exif\0\0", offset + 4)
        if data[offset + 1] == _NOTES_OF_A_DRAWING_PROGRAM:
            parts += data.count(b"8BIM", offset, end)
        offset = end
    return True


_NOTES_OF_A_DRAWING_PROGRAM = 0xED
"""The JPEG segment APP13, in which notes marked 8BIM stand one after the other."""
_TIFF = {
    b"II*\0": ("little", False), b"MM\0*": ("big", False), b"II+\0": ("little", True), b"MM\0+": ("big", True)
}  # fmt: skip
"""How a TIFF begins: its order of bytes, and whether it is a BigTIFF."""
_TIFF_COUNTED = (258, 273, 277, 279, 324, 325, 339)
"""Fields of a TIFF whose values Pillow takes one by one: bits, strips, tiles and kinds of a point (TIFF 6.0, section 8 and 15)."""


def _tiff_parts(data: bytes) -> bool:
    # Its first picture alone is read.
    order, is_big = _TIFF[data[:4]]

    def value(offset: int, long: int) -> int:
        return int.from_bytes(data[offset : offset + long], order)  # type: ignore[arg-type]

    offset = value(8, 8) if is_big else value(4, 4)
    head, field, count_at, count_long = (8, 20, 4, 8) if is_big else (2, 12, 4, 4)
    fields = value(offset, head)
    if fields > limits.MAX_FILE_PARTS and is_big:
        return True
    for at in range(offset + head, min(offset + head + fields * field, len(data)), field):
        if value(at, 2) in _TIFF_COUNTED and value(at + count_at, count_long) > limits.MAX_FILE_PARTS:
            return True
    return False


def _gif_parts(data: bytes) -> bool:
    def palette(flags: int) -> int:
        return 3 * 2 ** ((flags & 7) + 1) if flags & 0x80 else 0

    if len(data) < 13:
        return False
    offset = 13 + palette(data[10])
    parts = blocks = 0
    while offset < len(data):
        parts += 1
        is_picture = data[offset] == 0x2C
        if is_picture:
            if offset + 11 > len(data):
                return False
            offset += 11 + palette(data[offset + 9])
        elif data[offset] == 0x21:
            offset += 2
        else:
            offset += 1  # the end, or bytes that Pillow passes over one by one
            if data[offset - 1] == 0x3B:
                return False
            if parts > limits.MAX_FILE_PARTS:
                return True
            continue
        while offset < len(data) and data[offset]:
            offset += 1 + data[offset]
            if is_picture:
                blocks += 1
            else:
                parts += 1
            if parts > limits.MAX_FILE_PARTS or blocks > limits.MAX_GIF_BLOCKS:
                return True
        offset += 1
        if parts > limits.MAX_FILE_PARTS:
            return True
    return False
