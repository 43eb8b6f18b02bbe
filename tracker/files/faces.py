"""Which typeface has the letters of a text, for names that the app's own type cannot write.

fontTools is imported when a letter beyond the app's own type is met, never before.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache, lru_cache
from importlib.util import find_spec
from pathlib import Path

OWN = Path(__file__).parents[2] / "assets" / "fonts" / "Lato-Regular.ttf"
BEYOND = re.compile(
    "[^\\x00-\u017f\u2013\u2014\u2018-\u201a\u201c-\u201e\u2022\u2026\u2039\u203a\u20ac\u20ba\u2212]"
)
"""Finds a letter that the app's own type may lack: a quick look before its list of letters is read."""
OF_SYSTEMS = tuple(
    map(
        Path,
        (
            "/system/fonts/NotoSansCJK-Regular.ttc",
            "/system/fonts/DroidSansFallback.ttf",
            "/usr/share/fonts/opentype/noto/NotoSansCJK-Regular.ttc",
            "/usr/share/fonts/truetype/droid/DroidSansFallbackFull.ttf",
            "/System/Library/Fonts/PingFang.ttc",
            "C:/Windows/Fonts/msyh.ttc",
        ),
    )
)
"""Faces of phones and computers with the letters of East Asia; from memory, and what is not there is passed over."""
RIGHT_TO_LEFT = ("R", "AL")
COMBINED = ("Mn", "Mc")
FIRST_SHAPED = 0x0900
"""From here on (the scripts of India and its neighbours) marks change the letters they stand by."""


@cache
def letters_of(path: Path) -> frozenset[int]:
    """Return the code points that a typeface draws."""
    from fontTools.ttLib import TTFont

    with TTFont(path, lazy=True, fontNumber=0) as font:
        return frozenset(font.getBestCmap())


@cache
def wide_face() -> Path | None:
    """Return the wide-ranging face that comes with Kivy, for letters the app's own type lacks; None without it."""
    kivy = find_spec("kivy")
    if kivy is None or kivy.origin is None:
        return None
    path = Path(kivy.origin).parent / "data" / "fonts" / "DejaVuSans.ttf"
    return path if path.is_file() else None


@cache
def others() -> tuple[Path, ...]:
    """Return the faces that may stand in, the one that looks most like ours first."""
    wide = wide_face()
    return (*(() if wide is None else (wide,)), *(path for path in OF_SYSTEMS if path.is_file()))


def needs_shaping(letter: str) -> bool:
    """Tell whether a letter is joined or turned round by those beside it, which is not done here: drawn alone it is wrong."""
    return unicodedata.bidirectional(letter) in RIGHT_TO_LEFT or (
        ord(letter) >= FIRST_SHAPED and unicodedata.category(letter) in COMBINED
    )


@lru_cache(maxsize=1024)
def face_for(text: str) -> tuple[Path | None, bool]:
    """Return the face with which a text is drawn, and whether it then shows all letters.

    Returns
    -------
    (face, whole)
        None: the app's own type. `whole` is False where no face has all letters, or where they would have to be joined or
        turned round.
    """
    wanted = {
        letter
        for letter in text
        if BEYOND.match(letter) and not letter.isspace() and not unicodedata.category(letter).startswith("C")
    }
    if not wanted:
        return None, True
    whole = not any(needs_shaping(letter) for letter in wanted)
    lacking = {ord(letter) for letter in wanted} - letters_of(OWN)
    if not lacking:
        return None, whole
    everything = {ord(letter) for letter in text if letter.isprintable()}
    for path in others():
        if everything <= letters_of(path):
            return path, whole
    return None, False
