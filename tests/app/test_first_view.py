"""The first view comes back as it was, or not at all."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.presenters.answers import answers
from tests.presenters.rugs import book, session
from tracker.app.first_view import LONGEST, FirstView, keep, kept, picture_of
from tracker.presenters.home import build_home_state

PICTURE = np.arange(2 * 3 * 3, dtype=np.uint8).reshape(2, 3, 3)


@pytest.fixture
def view() -> FirstView:
    return FirstView(
        state=build_home_state(book(session(1, 5)), answers()), aspect=1.5,
        pictures={"#FFFEFB": picture_of(PICTURE), "#262019": picture_of(PICTURE[::-1])},
        mark="12 acts", rug_id="rug", day="2026-11-25", language="en",
    )  # fmt: skip


@pytest.fixture
def file(tmp_path: Path, view: FirstView) -> Path:
    path = tmp_path / "my.view"
    keep(view, path)
    return path


def test_it_comes_back_as_it_was_kept(file: Path, view: FirstView) -> None:
    assert kept(file) == view


def test_the_picture_keeps_its_rows_and_colours() -> None:
    picture = picture_of(PICTURE)
    assert (picture.width, picture.height) == (3, 2)
    assert picture.rgb == bytes(range(18))


def test_a_large_picture_is_thinned_to_the_longest_side_alike_both_ways() -> None:
    # 1,900 rows: every fourth of both, since every third would leave 634 rows.
    large = np.zeros((1900, 400, 3), dtype=np.uint8)
    large[::4, ::4] = 200
    picture = picture_of(large)
    assert max(picture.width, picture.height) <= LONGEST
    assert (picture.height, picture.width) == (475, 100)
    assert set(picture.rgb) == {200}


def test_none_is_shown_where_none_was_kept(tmp_path: Path) -> None:
    assert kept(tmp_path / "no.view") is None


@pytest.mark.parametrize("bytes_kept", [0, 1, 40, -1])
def test_a_torn_file_shows_nothing(file: Path, bytes_kept: int) -> None:
    file.write_bytes(file.read_bytes()[:bytes_kept])
    assert kept(file) is None


@pytest.mark.parametrize(
    ("where", "value"),
    [
        (("width",), 4),
        (("grounds",), ["#FFFEFB"]),
        (("grounds",), [1, 2]),
        (("aspect",), 0),
        (("aspect",), "wide"),
        (("state", "yarns", 0, "swatch"), "red"),
        (("state", "yarns", 0, "tone"), "purple"),
        (("state", "rows"), None),
    ],
)
def test_a_file_with_a_value_that_cannot_be_drawn_shows_nothing(
    file: Path, where: tuple[str | int, ...], value: object
) -> None:
    head_bytes, rgb = file.read_bytes().split(b"\n", 1)
    head = json.loads(head_bytes)
    part = head
    for step in where[:-1]:
        part = part[step]
    part[where[-1]] = value
    file.write_bytes(json.dumps(head).encode() + b"\n" + rgb)
    assert kept(file) is None


def test_a_disk_that_refuses_is_no_trouble(tmp_path: Path, view: FirstView) -> None:
    keep(replace(view, mark="13 acts"), tmp_path / "no folder" / "my.view")
    assert not (tmp_path / "no folder").exists()
