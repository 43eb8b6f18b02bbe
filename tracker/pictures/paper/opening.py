"""Opens a photographed, scanned or enlarged cartoon under limits, upright and only as large as the reading needs."""

from __future__ import annotations

import contextlib
import importlib
import io
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps, UnidentifiedImageError

from tracker.domain.errors import BadPicture
from tracker.pictures import limits
from tracker.pictures.greys import has_fine_greys, in_eight_bits
from tracker.pictures.opening import Source, cartoon_bytes, check_single
from tracker.pictures.see_through import check_opaque
from tracker.words import _


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OpenedSheet:
    """A picture of a cartoon as it was opened."""

    rgb: NDArray[np.uint8]
    """(height, width, 3) red, green, blue, upright."""
    scale: float
    """Points of the file to one point here, along each side."""
    name: str = ""
    lossy: bool = False
    """Whether the file's kind keeps colours only roughly."""
    whole: Callable[[], OpenedSheet] | None = None
    """Opens the file with all its points; None where they are all here."""

    @property
    def width(self) -> int:
        """Points across."""
        return int(self.rgb.shape[1])

    @property
    def height(self) -> int:
        """Points along."""
        return int(self.rgb.shape[0])


def open_sheet(source: Source, *, name: str = "", all_points: bool = False) -> OpenedSheet:
    """Return the picture in a PNG, JPEG, WebP, BMP, GIF or TIFF file.

    Parameters
    ----------
    source
        The file's bytes, or its path.
    name
        Name to keep; a path gives its own.
    all_points
        Open a very large picture too with all its points: it takes four times the memory.

    Raises
    ------
    BadPicture
        When it is no picture, broken or too large; the sentence says which and what to do.
    """
    data, name = _bytes_of(source, name)
    try:
        with warnings.catch_warnings():
            # Pillow only warns where our own limits, checked next, already decide.
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(data), formats=_known_formats()) as file:
                width, height = file.size
                _check_size(width, height)
                check_single(file)
                lossy = _is_lossy(file, data)
                if lossy and not all_points and width * height > limits.READ_SHEET_PIXELS:
                    file.draft("RGB", (width // 2, height // 2))
                file.load()
                image: Image.Image = file
                check_opaque(image)
                image = ImageOps.exif_transpose(image)
                scale = max(width, height) / max(image.size)
                rgb = np.asarray(_opaque(image))
    except BadPicture:
        raise
    except (Image.DecompressionBombError, MemoryError) as trouble:
        raise _too_large_to_unpack() from trouble
    except UnidentifiedImageError as trouble:
        raise BadPicture(
            _("This file is not a picture that can be read here. Choose a JPEG, PNG, WebP or TIFF picture.")
        ) from trouble
    except Exception as trouble:
        # Pillow raises a wide range of errors on broken files; all mean the same here.
        raise BadPicture(
            _("The picture is broken and cannot be read to its end. Take it again, or copy it again.")
        ) from trouble
    whole = partial(open_sheet, source, name=name, all_points=True) if scale > 1 else None
    return OpenedSheet(rgb=rgb, scale=scale, name=name, lossy=lossy, whole=whole)


def _known_formats() -> list[str]:
    """Return the formats that this Pillow can open; it loads WebP and TIFF only when asked, and may lack them."""
    Image.preinit()
    for plugin in ("WebPImagePlugin", "TiffImagePlugin"):
        with contextlib.suppress(ImportError):
            importlib.import_module(f"PIL.{plugin}")
    return [kind for kind in limits.SHEET_FORMATS if kind in Image.OPEN]


def _check_size(width: int, height: int) -> None:
    if width * height > limits.MAX_SHEET_PIXELS or max(width, height) > limits.MAX_PHOTO_SIDE:
        raise BadPicture(
            _(
                "The picture is too large: {width} × {height} pixels; at most {million} million are read. "
                "Take it with a smaller size."
            ).format(width=width, height=height, million=limits.MAX_SHEET_PIXELS // 1_000_000)
        )
    if min(width, height) < limits.MIN_PAPER_SIDE:
        raise BadPicture(
            _("The picture is too small: {width} × {height} pixels. Take the cartoon from nearer.").format(
                width=width, height=height
            )
        )


def _too_large_to_unpack() -> BadPicture:
    return BadPicture(_("The picture is too large to be unpacked. Take it with a smaller size."))


def _bytes_of(source: Source, name: str) -> tuple[bytes, str]:
    data, name = cartoon_bytes(source, name, _too_large_file)
    packed_bmp = data.startswith(b"BM") and data[30:34] in (b"\x01\0\0\0", b"\x02\0\0\0")
    if packed_bmp and len(data) > limits.MAX_RUN_LENGTH_BMP_BYTES:
        raise BadPicture(_("A packed BMP of this size takes too long to read. Save the cartoon as PNG."))
    return data, name


def _too_large_file(size: int) -> BadPicture:
    return BadPicture(
        _(
            "The file is too large: {size} MB, at most {most} MB are read. Take the picture with a smaller size."
        ).format(
            # Rounded up: a file of a byte too much is not to be called as large as is read.
            size=-(-size // 1_000_000),
            most=limits.MAX_CARTOON_FILE_BYTES // 1_000_000,
        )
    )


def _opaque(image: Image.Image) -> Image.Image:
    """Return the picture in RGB."""
    return (in_eight_bits(image) if has_fine_greys(image) else image).convert("RGB")


def _is_lossy(file: Image.Image, data: bytes) -> bool:
    """Return whether a file keeps colours only roughly: JPEG, alone or inside a TIFF, and most WebP."""
    if file.format == "WEBP":
        return _webp_is_lossy(data)
    return file.format in ("JPEG", "MPO") or "jpeg" in str(file.info.get("compression", ""))


def _webp_is_lossy(data: bytes) -> bool:
    # Chunks follow each other, padded to an even length (RFC 9649, section 2.3).
    offset = 12
    while offset + 8 <= len(data):
        if data[offset : offset + 4] in (b"VP8 ", b"VP8L"):
            return data[offset : offset + 4] == b"VP8 "
        length = int.from_bytes(data[offset + 4 : offset + 8], "little")
        offset += 8 + length + length % 2
    return True
