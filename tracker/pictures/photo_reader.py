"""Reads photos of the rug under limits: upright, without the camera's notes, small enough to keep, with a thumbnail."""

from __future__ import annotations

import contextlib
import importlib
import io
import warnings
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageOps, UnidentifiedImageError

from tracker.domain.errors import BadPicture
from tracker.files.regular import NotRegular, TooLarge
from tracker.pictures import limits
from tracker.pictures.opening import Source, no_file, picture_bytes
from tracker.words import _


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadPhoto:
    """A photo as the book keeps it, and its thumbnail, both JPEG files in bytes."""

    photo: bytes
    thumbnail: bytes
    width: int
    """Of `photo`, in pixels."""
    height: int
    name: str = ""


def read_photo(
    source: Source,
    *,
    name: str = "",
    side: int = limits.KEPT_PHOTO_SIDE,
    thumbnail_side: int = limits.THUMBNAIL_SIDE,
) -> ReadPhoto:
    """Return a photo turned upright and made small enough to keep.

    Parameters
    ----------
    source
        The file's bytes, or its path.
    name
        Name to keep; a path gives its own.
    side, thumbnail_side
        Longest side of the photo and of its thumbnail, in pixels; a smaller photo is not enlarged.

    Notes
    -----
    What a camera writes beside the picture - place, time, serial number - is left out: a book may be handed on.

    Raises
    ------
    BadPicture
        When it is no photo, broken or too large; the sentence says which and what to do.
    """
    data, name = _bytes_of(source, name)
    try:
        with warnings.catch_warnings():
            # Pillow only warns where our own limits, checked next, already decide.
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(data), formats=_known_formats()) as image:
                width, height = image.size
                # Only a JPEG can be unpacked at a fraction of its size; all others must fit the memory whole.
                most = limits.MAX_PHOTO_PIXELS if image.format == "JPEG" else limits.MAX_WHOLE_PHOTO_PIXELS
                if max(width, height) > limits.MAX_PHOTO_SIDE or width * height > most:
                    raise _too_large(width, height)
                image.draft("RGB", (side, side))
                image.load()
                ImageOps.exif_transpose(image, in_place=True)
                photo = _opaque(image)
                photo.thumbnail((side, side))
                small = photo.copy()
                small.thumbnail((thumbnail_side, thumbnail_side))
                return ReadPhoto(
                    photo=_jpeg(photo),
                    thumbnail=_jpeg(small),
                    width=photo.width,
                    height=photo.height,
                    name=name,
                )
    except BadPicture:
        raise
    except (Image.DecompressionBombError, MemoryError) as trouble:
        raise BadPicture(
            _("The photo is too large to be unpacked. Take it again with a smaller size.")
        ) from trouble
    except UnidentifiedImageError as trouble:
        raise BadPicture(
            _("This file is not a photo that can be read here. Choose a JPEG, PNG or WebP picture.")
        ) from trouble
    except Exception as trouble:
        # Pillow raises a wide range of errors on broken files; all mean the same here.
        raise BadPicture(
            _("The photo is broken and cannot be read to its end. Take it again, or copy it again.")
        ) from trouble


def _known_formats() -> list[str]:
    """Return the photo formats that this Pillow can open; it loads WebP only when asked, and may lack it."""
    Image.preinit()
    with contextlib.suppress(ImportError):
        importlib.import_module("PIL.WebPImagePlugin")
    return [kind for kind in limits.PHOTO_FORMATS if kind in Image.OPEN]


def _bytes_of(source: Source, name: str) -> tuple[bytes, str]:
    if isinstance(source, (str, Path)):
        name = name or Path(source).name
    elif len(source) > limits.MAX_PHOTO_FILE_BYTES:
        raise _too_large_file(len(source))
    try:
        data = picture_bytes(source, limits.MAX_PHOTO_FILE_BYTES)
    except NotRegular as trouble:
        raise no_file() from trouble
    except TooLarge as trouble:
        raise _too_large_file(trouble.size_bytes) from trouble
    except OSError as trouble:
        raise BadPicture(_("The photo could not be opened. Check that the file is still there.")) from trouble
    if not data:
        raise BadPicture(_("The file is empty. Choose another photo."))
    return data, name


def _too_large_file(size: int) -> BadPicture:
    return BadPicture(
        _(
            "The photo's file is too large: {size} MB, at most {most} MB are read. Take it with a smaller size."
        ).format(size=-(-size // 1_000_000), most=limits.MAX_PHOTO_FILE_BYTES // 1_000_000)
    )


def _too_large(width: int, height: int) -> BadPicture:
    return BadPicture(
        _("The photo is too large: {width} × {height} pixels. Take it with a smaller size.").format(
            width=width, height=height
        )
    )


def _opaque(image: Image.Image) -> Image.Image:
    """Return the picture in RGB; see-through parts become white."""
    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        full = image.convert("RGBA")
        ground = Image.new("RGBA", full.size, "white")
        ground.alpha_composite(full)
        return ground.convert("RGB")
    return image.convert("RGB")


def _jpeg(image: Image.Image) -> bytes:
    out = io.BytesIO()
    # A bare picture: no notes of the camera are handed over.
    Image.frombytes("RGB", image.size, image.tobytes()).save(out, "JPEG", quality=85)
    return out.getvalue()
