"""Which typeface has the letters of a text, for names that the app's own type cannot write.

fontTools is imported when a letter beyond the app's own type is met, never before.
"""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.util import find_spec
from pathlib import Path

OWN = Path(__file__).parents[2] / "assets" / "fonts" / "Lato-Regular.ttf"
BEYOND = re.compile(
    "[^\\x00-\u017f\u2013\u2014\u2018-\u201a\u201c-\u201e\u2022\u2026\u2039\u203a\u20ac\u20ba\u2212]"
)
"""Finds a letter that the app's own type may lack: a quick look before its list of letters is read."""
FOLDERS = (
    "/usr/share/fonts",
    "/usr/local/share/fonts",
    "~/.fonts",
    "~/.local/share/fonts",
    "/Library/Fonts",
    "/System/Library/Fonts",
    "~/Library/Fonts",
    "/system/fonts",
    "%SYSTEMROOT%/Fonts",
)
"""Where systems keep their typefaces: those in which Kivy 2.3.1 looks (`LabelBase.get_system_fonts_dir`)."""
ENDINGS = (".ttf", ".otf", ".ttc", ".otc")
MOST_FACES = 2000
"""Typefaces that are looked at, at most."""
REGULAR = 400
"""The weight of our own type (`usWeightClass` of the OpenType OS/2 table)."""
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


@dataclass(frozen=True, slots=True)
class SystemFace:
    """A typeface of the phone or computer, as it says of itself."""

    path: Path
    ranges: frozenset[int]
    """Blocks of letters that it has, by their bits in its OS/2 table."""
    unlike: tuple[bool, int, str]
    """How little it looks like ours: slanted, how much bolder or lighter than a regular one, its name."""


def _read_face(path: Path) -> SystemFace | None:
    """Return what a typeface says of itself; None for a file that is none or does not say it."""
    from fontTools.ttLib import TTFont

    try:
        with TTFont(path, lazy=True, fontNumber=0) as font:
            told = font["OS/2"]
            slanted = bool(told.fsSelection & 1)
            return SystemFace(
                path,
                frozenset(told.getUnicodeRanges()),
                (slanted, abs(told.usWeightClass - REGULAR), path.name),
            )
    except Exception:
        # Whatever else lies there: a face that cannot be read has no letters for us.
        return None


@cache
def system_faces() -> tuple[SystemFace, ...]:
    """Return the typefaces of this phone or computer, the one that looks most like ours first."""
    paths: list[Path] = []
    for folder in FOLDERS:
        for place, _folders, names in os.walk(os.path.expandvars(os.path.expanduser(folder))):
            paths += [Path(place, name) for name in sorted(names) if name.lower().endswith(ENDINGS)]
    faces = [face for path in paths[:MOST_FACES] if (face := _read_face(path)) is not None]
    return tuple(sorted(faces, key=lambda face: face.unlike))


def others(letters: frozenset[int]) -> Iterator[Path]:
    """Yield the faces that may stand in for some letters, the one that looks most like ours first."""
    from fontTools.ttLib.tables.O_S_2f_2 import intersectUnicodeRanges

    wide = wide_face()
    if wide is not None:
        yield wide
    wanted = intersectUnicodeRanges(letters)
    yield from (face.path for face in system_faces() if wanted <= face.ranges)


def _has_all(path: Path, letters: frozenset[int]) -> bool:
    try:
        return letters <= letters_of(path)
    except Exception:
        return False  # a damaged face is no reason to leave a name undrawn


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
    everything = frozenset(ord(letter) for letter in text if letter.isprintable())
    found = next((path for path in others(everything) if _has_all(path, everything)), None)
    return found, whole and found is not None
