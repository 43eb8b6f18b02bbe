"""Tells whether a picture of a cartoon lets anything through: a knot needs a colour."""

from __future__ import annotations

import numpy as np
from PIL import Image

from tracker.domain.errors import BadPicture
from tracker.words import _


def check_opaque(image: Image.Image) -> None:
    """Refuse a picture of which any pixel is not wholly opaque.

    Raises
    ------
    BadPicture
        With a sentence that says what to do.
    """
    if image.mode in ("RGBA", "LA", "PA", "La", "RGBa"):
        alpha = (
            image.getchannel("A")
            if image.mode in ("RGBA", "LA", "PA")
            else image.convert("RGBA").getchannel("A")
        )
        if _lets_through(alpha):
            raise _see_through()
        return
    transparency = image.info.get("transparency")
    if transparency is not None and _uses_transparency(image, transparency):
        raise _see_through()


def _see_through() -> BadPicture:
    return BadPicture(
        _(
            "Parts of the picture are see-through, and a knot needs a colour. Fill them with a colour and save it again."
        )
    )


def _lets_through(alpha: Image.Image) -> bool:
    """Return whether any pixel of a channel of opacity is not wholly opaque."""
    return any(alpha.histogram()[:255])


def _uses_transparency(image: Image.Image, transparency: object) -> bool:
    """Return whether any pixel is see-through by the file's transparency entry."""
    if image.mode in ("P", "L", "1"):
        used = np.asarray(image.histogram()[:256]) > 0
        if isinstance(transparency, int):
            return 0 <= transparency < used.size and bool(used[transparency])
        if isinstance(transparency, bytes):
            return any(
                alpha != 255 and index < used.size and used[index] for index, alpha in enumerate(transparency)
            )
        return False
    if image.mode == "RGB" and isinstance(transparency, tuple):
        alpha = image.convert("RGBA").getchannel("A")
        return _lets_through(alpha)
    return False
