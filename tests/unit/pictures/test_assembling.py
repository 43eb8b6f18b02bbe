"""A cartoon put together from files: merged, mirrored, repeated, a field in its border, a border round its field."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tracker.domain.errors import BadPicture
from tracker.domain.layout import Given
from tracker.pictures.assembling import Parts, assemble, look_at

COLOURS = ((240, 230, 210), (150, 40, 30), (30, 60, 110), (151, 42, 31))


def save(path: Path, rows: list[list[int]]) -> Path:
    """Write rows, the top one first, as a true-colour picture."""
    Image.fromarray(np.array(COLOURS, dtype=np.uint8)[np.array(rows)], "RGB").save(path)
    return path


def seen(picture) -> list[str]:
    """The knots as letters, row 1 last, as the eye sees the rug."""
    letter = {"#F0E6D2": ".", "#96281E": "r", "#1E3C6E": "b"}
    return ["".join(letter[picture.palette[value]] for value in row) for row in picture.cells[::-1]]


def test_a_bottom_left_quarter_is_mirrored_both_ways(tmp_path) -> None:
    main = save(tmp_path / "q.png", [[0, 1], [2, 0]])
    found = assemble(Parts(main=main, given=Given.BOTTOM_LEFT))
    assert seen(found) == ["b..b", ".rr.", ".rr.", "b..b"]
    once = assemble(Parts(main=main, given=Given.BOTTOM_LEFT, shared_column=True, shared_row=True))
    assert seen(once) == ["b.b", ".r.", "b.b"]


def test_a_motif_is_repeated_after_it_was_mirrored(tmp_path) -> None:
    main = save(tmp_path / "m.png", [[0, 1], [2, 2]])
    found = assemble(Parts(main=main, given=Given.LEFT_HALF, times_across=2))
    assert seen(found) == [".rr..rr.", "bbbbbbbb"]


def test_a_field_is_laid_into_its_border(tmp_path) -> None:
    border = save(tmp_path / "b.png", [[1] * 4 for _row in range(4)])
    field = save(tmp_path / "f.png", [[0, 2], [0, 0]])
    assert seen(assemble(Parts(main=border, field=field))) == ["rrrr", "r.br", "r..r", "rrrr"]


def test_a_border_is_set_round_its_field(tmp_path) -> None:
    field = save(tmp_path / "f.png", [[0, 0], [0, 0]])
    strip = save(tmp_path / "s.png", [[1, 2], [2, 2]])
    corner = save(tmp_path / "c.png", [[0, 1], [1, 1]])
    assert seen(assemble(Parts(main=field, strip=strip, corner=corner))) == [
        # The corner mirrored into all four; the strip's outer edge (below, all blue) lies outside on every side, and
        # its repeat starts at the bottom left corner, up the side as along the bottom.
        "rrbbrr",
        ".rrbr.",
        "bb..bb",
        "br..rb",
        ".rrbr.",
        "rrbbrr",
    ]


def test_a_field_that_does_not_fit_is_refused_with_a_sentence(tmp_path) -> None:
    border = save(tmp_path / "b.png", [[1, 1], [1, 1]])
    field = save(tmp_path / "f.png", [[0] * 3 for _row in range(3)])
    with pytest.raises(BadPicture, match="does not fit"):
        assemble(Parts(main=border, field=field))


def test_stray_shades_are_found_before_a_picture_is_taken(tmp_path) -> None:
    rows = [[0] * 10 for _row in range(10)]
    rows[4][2:6] = [1, 1, 1, 3]
    found = look_at(save(tmp_path / "scan.png", rows))
    assert len(found.clean.palette) == 3
    (stray,) = found.strays
    assert (stray.shade, stray.into, stray.knots) == ("#972A1F", "#96281E", 1)
    assert len(assemble(Parts(main=tmp_path / "scan.png", merge=True)).palette) == 2


def test_a_scan_with_too_many_shades_is_read_with_the_alike_ones_merged(tmp_path) -> None:
    rng = np.random.default_rng(5)
    base = np.array([(200, 60, 50), (40, 60, 120)], dtype=int)[rng.integers(0, 2, (40, 40))]
    noisy = (base + rng.integers(-3, 4, base.shape)).astype(np.uint8)
    Image.fromarray(noisy, "RGB").save(tmp_path / "noisy.png")
    found = look_at(tmp_path / "noisy.png")
    assert found.clean is None
    assert len(found.merged.picture.palette) == 2


def test_a_file_that_is_gone_is_said(tmp_path) -> None:
    with pytest.raises(BadPicture, match="still there"):
        assemble(Parts(main=tmp_path / "gone.png"))
