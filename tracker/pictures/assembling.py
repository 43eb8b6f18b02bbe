"""Puts a rug's cartoon together from the pictures chosen for it: read, strays merged, mirrored, repeated, framed."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from tracker.domain.cartoon import CartoonPicture
from tracker.domain.colour import Merged, MergedScan, merge_strays
from tracker.domain.errors import BadPicture
from tracker.domain.layout import Given, border_around, expand, field_in_border, repeat
from tracker.pictures.cartoon_reader import read_cartoon, read_scan


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """The pictures a cartoon is made of, by path, and how they are laid together.

    With `field` the main picture is the border of the whole rug; with `strip` and `corner` it is the field.
    """

    main: Path
    merge: bool = False
    given: Given = Given.FULL
    shared_column: bool = False
    shared_row: bool = False
    times_across: int = 1
    times_along: int = 1
    field: Path | None = None
    strip: Path | None = None
    corner: Path | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What a picture would be as a cartoon, before it is taken."""

    clean: CartoonPicture | None
    """With every shade kept; None when there are too many of them."""
    merged: MergedScan
    """With shades that look alike made one."""

    @property
    def strays(self) -> tuple[Merged, ...]:
        """Shades that would be merged into another."""
        return self.merged.merged


def look_at(path: Path, name: str = "") -> Look:
    """Read a picture both ways: as it is, and with stray shades merged.

    Raises
    ------
    BadPicture
        When it cannot serve as a cartoon, not even as a scan.
    """
    try:
        clean = read_cartoon(path, name=name)
    except BadPicture:
        return Look(clean=None, merged=read_scan(path, name=name))
    return Look(clean=clean, merged=merge_strays(clean))


def read_part(path: Path, merge: bool) -> CartoonPicture:
    """Return one picture as a cartoon, with stray shades merged when wished or when there are too many."""
    if not merge:
        return read_cartoon(path)
    assembled = look_at(path)
    return assembled.merged.picture


def assemble(parts: Parts) -> CartoonPicture:
    """Return the whole cartoon.

    Raises
    ------
    BadPicture
        When a picture cannot be read or the parts do not fit each other.
    """
    picture = read_part(parts.main, parts.merge)
    if parts.given is not Given.FULL:
        picture = expand(picture, parts.given, shared_column=parts.shared_column, shared_row=parts.shared_row)
    if (parts.times_across, parts.times_along) != (1, 1):
        picture = repeat(picture, parts.times_across, parts.times_along)
    if parts.field is not None:
        picture = field_in_border(picture, read_part(parts.field, parts.merge))
    if parts.strip is not None and parts.corner is not None:
        picture = border_around(
            read_part(parts.strip, parts.merge), read_part(parts.corner, parts.merge), picture
        )
    return picture
