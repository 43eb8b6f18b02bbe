"""Reads a cartoon from a picture with one pixel a knot; the picture's bottom row is woven first."""

from __future__ import annotations

import io
import struct
import warnings
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from tracker.domain import defaults
from tracker.domain.cartoon import CartoonPicture
from tracker.domain.colour import MergedScan, merge_shades
from tracker.domain.errors import BadPicture
from tracker.pictures import limits
from tracker.pictures.greys import has_fine_greys, in_eight_bits
from tracker.pictures.opening import Source, cartoon_bytes, check_single
from tracker.pictures.see_through import check_opaque
from tracker.words import _

_STRIP_PIXELS = 1 << 20
"""Pixels taken out of Pillow at once; whole-picture copies would double the memory."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShadePicture:
    """A scanned cartoon as read, before stray shades are merged: `cells` index into `shades`."""

    cells: NDArray[np.unsignedinteger]
    shades: NDArray[np.uint8]
    """(n, 3) red, green, blue of every shade."""
    counts: NDArray[np.int64]
    """(n,) pixels of every shade."""
    name: str = ""


def read_cartoon(source: Source, *, name: str = "", max_colours: int = limits.MAX_COLOURS) -> CartoonPicture:
    """Return the cartoon in a PNG, GIF or BMP picture.

    Parameters
    ----------
    source
        The file's bytes, or its path.
    name
        Name to keep with the cartoon; a path gives its own.
    max_colours
        Colours at most.

    Raises
    ------
    BadPicture
        When it cannot serve: not a picture, broken, too large, animated, partly see-through, too many colours. The
        sentence says which and what to do.
    """
    image, name = _open(source, name)
    with image:
        if image.mode in ("P", "L", "1"):
            cells, palette = _indexed(image, max_colours)
        else:
            shades, shade_of_knot = _true_colour(image, max_colours)
            cells = shade_of_knot.astype(np.uint8, copy=False)
            palette = tuple(_hex(shade) for shade in shades)
    return CartoonPicture(cells=cells, palette=palette, name=name)


def read_shades(source: Source, *, name: str = "", max_shades: int = limits.MAX_SHADES) -> ShadePicture:
    """Return a scanned cartoon with all its shades; `domain.colour.merge_shades` then merges the stray ones.

    Raises
    ------
    BadPicture
        As `read_cartoon`, with `max_shades` for the number of colours.
    """
    image, name = _open(source, name)
    with image:
        if image.mode in ("P", "L", "1"):
            image = image.convert("RGB")
        shades, cells = _true_colour(image, max_shades)
    counts = np.zeros(len(shades), dtype=np.int64)
    for row in cells:
        counts += np.bincount(row, minlength=len(shades))
    return ShadePicture(cells=cells, shades=shades, counts=counts, name=name)


def read_scan(
    source: Source, *, name: str = "", delta_e: float = defaults.MERGE_DELTA_E, keep: tuple[str, ...] = ()
) -> MergedScan:
    """Return a cartoon with its stray shades merged, and what was merged; for scans, and for cleaning any cartoon.

    Parameters
    ----------
    source, name
        As `read_cartoon`.
    delta_e, keep
        As `domain.colour.merge_shades`: how alike strays must be (CIEDE2000), and shades to keep apart.

    Raises
    ------
    BadPicture
        As `read_cartoon`, and when more than the allowed colours remain after merging.
    """
    scan = read_shades(source, name=name)
    return merge_shades(scan.cells, scan.shades, scan.counts, delta_e=delta_e, keep=keep, name=scan.name)


# --- opening under limits ------------------------------------------------------------------------------------


def _open(source: Source, name: str) -> tuple[Image.Image, str]:
    """Return the picture, unpacked and of a kind that can be counted, and its name."""
    data, name = cartoon_bytes(source, name, _too_large_file)
    _check_kind(data)
    try:
        with warnings.catch_warnings():
            # Pillow only warns where our own limits, checked next, already decide.
            warnings.simplefilter("ignore")
            image = Image.open(io.BytesIO(data), formats=limits.CARTOON_FORMATS)
            _check_size(*image.size)
            check_single(image)
            _check_size(*image.size)
            image.load()
            _check_size(*image.size)
    except BadPicture:
        raise
    except Image.DecompressionBombError as trouble:
        raise _too_large_picture() from trouble
    except MemoryError as trouble:
        raise _too_large_picture() from trouble
    except Exception as trouble:
        # Pillow raises a wide range of errors on broken files; all mean the same here.
        raise BadPicture(
            _("The picture is broken and cannot be read to its end. Save or copy it again as PNG.")
        ) from trouble
    return _plain_mode(image), name


def _check_kind(data: bytes) -> None:
    """Refuse what is no PNG, GIF or BMP by its first bytes, naming what it is where that is known."""
    if data.startswith((b"\x89PNG\r\n\x1a\n", b"GIF87a", b"GIF89a", b"BM")):
        size = _stated_size(data)
        if size is not None:
            _check_size(*size)
        packed_bmp = data.startswith(b"BM") and data[30:34] in (b"\x01\0\0\0", b"\x02\0\0\0")
        if packed_bmp and len(data) > limits.MAX_RUN_LENGTH_BMP_BYTES:
            raise BadPicture(_("A packed BMP of this size takes too long to read. Save the cartoon as PNG."))
        return
    if data.startswith(b"\xff\xd8\xff"):
        raise BadPicture(
            _(
                "This is a JPEG photo: its colours run into each other, so knots cannot be counted. "
                "Save the cartoon as PNG with one pixel a knot."
            )
        )
    if (
        data.startswith((b"II*\x00", b"MM\x00*", b"RIFF", b"%PDF", b"\x00\x00\x01\x00"))
        or data[4:8] == b"ftyp"
    ):
        raise BadPicture(_("This kind of file is not read here. Save the cartoon as PNG, GIF or BMP."))
    raise BadPicture(_("This file is not a picture. Choose a cartoon saved as PNG, GIF or BMP."))


def _stated_size(data: bytes) -> tuple[int, int] | None:
    """Return (width, height) as the file's head states them, None when the head is too short."""
    try:
        if data.startswith(b"\x89PNG"):
            width, height = struct.unpack(">II", data[16:24])
        elif data.startswith(b"GIF"):
            width, height = struct.unpack("<HH", data[6:10])
        elif struct.unpack("<I", data[14:18])[0] == 12:
            width, height = struct.unpack("<HH", data[18:22])
        else:
            width, height = struct.unpack("<ii", data[18:26])
    except struct.error:
        return None
    return abs(width), abs(height)


def _check_size(width: int, height: int) -> None:
    if width > limits.MAX_SIDE or height > limits.MAX_SIDE or width * height > limits.MAX_KNOTS:
        raise BadPicture(
            _(
                "The picture is too large: {width} × {height} pixels, one for each knot. At most {side} each way and "
                "{million} million in all are read. Make it smaller until one pixel is one knot."
            ).format(width=width, height=height, side=limits.MAX_SIDE, million=limits.MAX_KNOTS // 1_000_000)
        )
    if min(width, height) < limits.MIN_SIDE or width * height < limits.MIN_KNOTS:
        raise BadPicture(
            _(
                "The picture is too small: {width} × {height} pixels. A cartoon has one pixel for each knot."
            ).format(width=width, height=height)
        )


def _too_large_file(size: int) -> BadPicture:
    return BadPicture(
        _("The file is too large: {size} MB, at most {most} MB are read. Save the cartoon as PNG.").format(
            size=-(-size // 1_000_000), most=limits.MAX_CARTOON_FILE_BYTES // 1_000_000
        )
    )


def _too_large_picture() -> BadPicture:
    return BadPicture(
        _("The picture is too large to be unpacked. Make it smaller until one pixel is one knot.")
    )


def _too_many_colours(most: int) -> BadPicture:
    return BadPicture(
        _(
            "The picture has more than {most} colours: it is a photo or a smoothed scan, not a "
            "cartoon. Reduce its colours, or read it as a scan. That merges stray shades."
        ).format(most=most)
    )


def _plain_mode(image: Image.Image) -> Image.Image:
    """Return the picture as P, L, 1 or RGB without transparency."""
    check_opaque(image)
    if image.mode in ("RGBA", "LA", "PA", "La", "RGBa"):
        return image.convert("L" if image.mode in ("LA", "La") else "RGB")
    if image.mode in ("P", "L", "1", "RGB"):
        return image
    if has_fine_greys(image):
        return in_eight_bits(image)
    return image.convert("RGB")


# --- pixels to cells -------------------------------------------------------------------------------------------


def _hex(shade: NDArray[np.uint8] | tuple[int, int, int]) -> str:
    red, green, blue = (int(part) for part in shade)
    return f"#{red:02X}{green:02X}{blue:02X}"


def _strips(image: Image.Image, bands: int) -> tuple[int, list[tuple[int, int]]]:
    """Return the strip height and the (top, bottom) of every strip."""
    width, height = image.size
    step = max(1, _STRIP_PIXELS // max(1, width * bands))
    return step, [(top, min(height, top + step)) for top in range(0, height, step)]


def _indexed(image: Image.Image, max_colours: int) -> tuple[NDArray[np.uint8], tuple[str, ...]]:
    """Return cells and palette of a picture that carries its own palette; equal entries become one colour."""
    if image.mode == "1":
        image = image.convert("L")
    used = np.flatnonzero(np.asarray(image.histogram()[:256]))
    if image.mode == "P":
        flat = image.getpalette("RGB") or []
        entries = [tuple(flat[3 * index : 3 * index + 3]) for index in range(256)]
        colours = [entry if len(entry) == 3 else (0, 0, 0) for entry in entries]
    else:
        colours = [(grey, grey, grey) for grey in range(256)]
    order: dict[tuple[int, ...], int] = {}
    for index in used:
        order.setdefault(colours[index], len(order))
    if len(order) > max_colours:
        raise _too_many_colours(max_colours)
    table = np.zeros(256, dtype=np.uint8)
    for index in used:
        table[index] = order[colours[index]]
    identity = bool(np.array_equal(table[used], used))
    width, height = image.size
    cells = np.empty((height, width), dtype=np.uint8)
    for top, bottom in _strips(image, 1)[1]:
        strip = np.asarray(image.crop((0, top, width, bottom)), dtype=np.uint8)[::-1]
        into = cells[height - bottom : height - top]
        if identity:
            into[:] = strip
        else:
            np.take(table, strip, out=into)
    return cells, tuple(_hex(entry) for entry in order)  # type: ignore[arg-type]


def _true_colour(
    image: Image.Image, max_colours: int
) -> tuple[NDArray[np.uint8], NDArray[np.unsignedinteger]]:
    """Return (n, 3) shades in the order in which they are met from the top, and the (rows, knots) cells of a RGB picture.

    Every pixel is looked up once in a table of all 16.7 million colours; a strip with a colour not met before is looked
    up again after the table has learnt it.
    """
    small = max_colours < 255
    kind: type[np.unsignedinteger] = np.uint8 if small else np.uint16
    unknown = int(np.iinfo(kind).max)
    table = np.full(1 << 24, unknown, dtype=kind)
    known: list[int] = []
    width, height = image.size
    cells = np.empty((height, width), dtype=kind)
    for top, bottom in _strips(image, 4)[1]:
        raw = image.crop((0, top, width, bottom)).tobytes("raw", "RGBX")
        packed = np.frombuffer(raw, dtype="<u4") & np.uint32(0xFFFFFF)
        shade_of_pixel = table.take(packed)
        if shade_of_pixel.max() == unknown:
            fresh = np.unique(packed[shade_of_pixel == unknown])
            if len(known) + fresh.size > max_colours:
                raise _too_many_colours(max_colours)
            table[fresh] = np.arange(len(known), len(known) + fresh.size, dtype=kind)
            known.extend(int(colour) for colour in fresh)
            shade_of_pixel = table.take(packed)
        cells[height - bottom : height - top] = shade_of_pixel.reshape(bottom - top, width)[::-1]
    values = np.asarray(known, dtype=np.uint32)
    # The bytes come as red, green, blue from the lowest up.
    shades = np.stack([values & 255, (values >> 8) & 255, (values >> 16) & 255], axis=1).astype(np.uint8)
    return shades, cells
