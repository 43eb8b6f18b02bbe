"""Brings pictures in greys of more than eight bits to eight, and refuses those of which nothing would be left."""

from __future__ import annotations

import numpy as np
from PIL import Image

from tracker.domain.errors import BadPicture
from tracker.words import _

_BRIGHTEST = (255.0, 65535.0)
"""What may be white: of eight bits, of sixteen."""


def has_fine_greys(image: Image.Image) -> bool:
    """Return whether a picture has greys of more than eight bits."""
    return image.mode.startswith("I") or image.mode == "F"


def in_eight_bits(image: Image.Image) -> Image.Image:
    """Return a picture of fine greys with eight bits each.

    Raises
    ------
    BadPicture
        When what is white in it is not known: cut off at the usual white, all of it may come out as one colour.
    """
    grey = np.asarray(image).astype(np.float64)
    whites = (1.0, *_BRIGHTEST) if image.mode == "F" else _BRIGHTEST
    white = next((top for top in whites if np.isfinite(grey).all() and grey.max() <= top), None)
    if white is None or grey.min() < 0:
        raise BadPicture(
            _(
                "This picture has finer greys than are read here. Save it again as PNG with 8 bits for each colour."
            )
        )
    return Image.fromarray((grey * (255.0 / white)).astype(np.uint8))
