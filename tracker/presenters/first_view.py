"""The first view as it was last shown, kept beside the book so that opening the app shows it at once.

It is shown only while the book still holds exactly what it held then, and is replaced as soon as the
answers are worked out anew. The file is a line of JSON and the picture's bytes; losing it loses nothing.
"""

from __future__ import annotations

import json
import os
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tracker.domain.rug import Role
from tracker.presenters.standing import Standing, YarnLine
from tracker.regular_file import read_regular

if TYPE_CHECKING:
    import numpy as np

LONGEST = 600
"""Pixels of the kept picture's longer side at the most."""
MOST_BYTES = 4_000_000


@dataclass(frozen=True, slots=True)
class Picture:
    """RGB bytes, the rug's first row first."""

    width: int
    height: int
    rgb: bytes


@dataclass(frozen=True, slots=True)
class FirstView:
    """What the first view shows of one rug."""

    state: Standing
    picture: Picture
    aspect: float
    mark: str
    """What the book held (`storage.glance`)."""
    rug_id: str
    day: str
    language: str
    ground: str
    """Colour the rows to come were paled towards."""


def picture_of(picture: np.ndarray) -> Picture:
    """Return an array of shape (rows, knots, 3) as bytes, thinned to `LONGEST`."""
    step = max(1, -(-max(picture.shape[:2]) // LONGEST))
    thin = picture[::step, ::step]
    return Picture(width=thin.shape[1], height=thin.shape[0], rgb=thin.tobytes())


def keep(view: FirstView, path: Path) -> None:
    """Write the view; a disk that refuses is no trouble, since the view can always be worked out anew."""
    head: dict[str, Any] = {
        **{name: getattr(view, name) for name in ("aspect", "mark", "rug_id", "day", "language", "ground")},
        "state": asdict(view.state),
        "width": view.picture.width,
        "height": view.picture.height,
    }
    part = path.with_suffix(".viewpart")
    try:
        part.write_bytes(json.dumps(head).encode() + b"\n" + view.picture.rgb)
        os.replace(part, path)
    except OSError:
        pass


def kept(path: Path) -> FirstView | None:
    """Return the kept view; None when there is none or it cannot be read."""
    try:
        head_bytes, rgb = read_regular(path, MOST_BYTES).split(b"\n", 1)
        head = json.loads(head_bytes)
        state = head["state"]
        yarns = tuple(YarnLine(**{**line, "role": Role(line["role"])}) for line in state["yarns"])
        width, height = int(head["width"]), int(head["height"])
        if width < 1 or height < 1 or len(rgb) != width * height * 3:
            return None
        return FirstView(
            state=Standing(**{**state, "yarns": yarns}),
            picture=Picture(width, height, rgb),
            **{name: head[name] for name in ("aspect", "mark", "rug_id", "day", "language", "ground")},
        )
    except (OSError, ValueError, KeyError, TypeError):
        return None
