"""Picture files for the tests, made with Pillow."""

from __future__ import annotations

import io

import numpy as np
from PIL import Image

PALETTE = ((162, 59, 42), (31, 58, 95), (217, 180, 74), (244, 239, 228), (43, 43, 43))


def indexed(cells) -> Image.Image:
    """An indexed picture; `cells` as seen, top row first."""
    image = Image.fromarray(np.asarray(cells, dtype=np.uint8))
    image.putpalette([part for colour in PALETTE for part in colour])
    return image


def saved(image: Image.Image, kind: str, **options) -> bytes:
    """The bytes of the picture's file."""
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def cells_of(height: int = 24, width: int = 17, colours: int = 5, seed: int = 1) -> np.ndarray:
    """A random cartoon, top row first, in which every colour occurs."""
    cells = np.random.default_rng(seed).integers(0, colours, (height, width), dtype=np.uint8)
    cells.flat[:colours] = np.arange(colours)
    return cells
