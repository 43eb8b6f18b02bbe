"""The first view as it was last shown, kept beside the book so that opening the app shows it at once.

It is shown only while the book still holds exactly what it held then, and is replaced as soon as the
answers are worked out anew. The file is a line of JSON and the picture's bytes; losing it loses nothing.
"""

from __future__ import annotations

import json
import re
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypedDict

from tracker.files.regular import read_regular
from tracker.files.typed import read_as
from tracker.files.whole import write_whole
from tracker.presenters.home_state import ASK_ICONS, ASK_PAGES, NEXT_ICONS, HomeState

if TYPE_CHECKING:
    import numpy as np

LONGEST = 600
"""Pixels of the kept picture's longer side at the most."""
MOST_BYTES = 4_000_000
_SWATCH = re.compile("#[0-9A-Fa-f]{6}")


@dataclass(frozen=True, slots=True)
class Picture:
    """RGB bytes, the rug's first row first."""

    width: int
    height: int
    rgb: bytes


@dataclass(frozen=True, slots=True)
class FirstView:
    """What the first view shows of one rug."""

    state: HomeState
    pictures: dict[str, Picture]
    """By the colour that the rows to come were paled towards: a phone that went dark since then shows its own at once."""
    aspect: float
    mark: str
    """What the book held (`storage.fingerprint`)."""
    rug_id: str
    day: str
    language: str


def picture_of(picture: np.ndarray) -> Picture:
    """Return an array of shape (rows, knots, 3) as bytes, thinned to `LONGEST`."""
    step = max(1, -(-max(picture.shape[:2]) // LONGEST))
    thin = picture[::step, ::step]
    return Picture(width=thin.shape[1], height=thin.shape[0], rgb=thin.tobytes())


def keep(view: FirstView, path: Path) -> None:
    """Write the view; a disk that refuses is no trouble, since the view can always be worked out anew."""
    one = next(iter(view.pictures.values()))
    head: dict[str, Any] = {
        **{name: getattr(view, name) for name in ("aspect", "mark", "rug_id", "day", "language")},
        "state": asdict(view.state),
        "grounds": list(view.pictures),
        "width": one.width,
        "height": one.height,
    }
    pixels = b"".join(picture.rgb for picture in view.pictures.values())
    with suppress(OSError):
        write_whole(path, json.dumps(head).encode() + b"\n" + pixels)


class _Head(TypedDict):
    """The line before the bytes of the pictures, which are of one size."""

    aspect: float
    mark: str
    rug_id: str
    day: str
    language: str
    grounds: list[str]
    state: HomeState
    width: int
    height: int


def kept(path: Path) -> FirstView | None:
    """Return the kept view; None when there is none or it cannot be read."""
    try:
        head_bytes, rgb = read_regular(path, MOST_BYTES).split(b"\n", 1)
        head = read_as(_Head, json.loads(head_bytes))
    except (OSError, ValueError, RecursionError):
        return None
    width, height, state, grounds = head["width"], head["height"], head["state"], head["grounds"]
    each = width * height * 3
    whole = (
        min(width, height) >= 1
        and len(rgb) == each * len(grounds)
        and head["aspect"] > 0
        and state.next_page in NEXT_ICONS
        and all(ask.page in ASK_PAGES and ask.icon in ASK_ICONS for ask in (*state.conditions, *state.asks))
        and all(
            _SWATCH.fullmatch(line.swatch)
            for line in (*state.yarns, *state.told.alerts, *state.one_told.alerts)
        )
    )
    if not whole:
        return None
    return FirstView(
        state=state,
        pictures={
            ground: Picture(width, height, rgb[each * at : each * (at + 1)])
            for at, ground in enumerate(grounds)
        },
        **{name: head[name] for name in ("aspect", "mark", "rug_id", "day", "language")},
    )
