"""Merging stray shades and finding the yarn of a colour."""

from __future__ import annotations

import numpy as np
import pytest

from tests.unit.domain.rugs import pile
from tracker.domain.cartoon import CartoonPicture
from tracker.domain.colour import (
    ciede2000,
    hex_of_rgb,
    lab_of_hex,
    match_palette,
    merge_shades,
    merge_strays,
    plain_colour_name,
    rgb_of_hex,
)
from tracker.domain.errors import BadEntry, BadPicture


def test_a_colour_is_written_and_read():
    assert rgb_of_hex("#A23B2A") == (162, 59, 42)
    assert hex_of_rgb((162, 59, 42)) == "#A23B2A"
    for wrong in ("red", "#A23B2", "#A23B2G", ""):
        with pytest.raises(BadEntry):
            rgb_of_hex(wrong)


def test_stray_shades_join_the_colour_they_look_like_and_the_report_says_so():
    shades = [(160, 60, 40), (30, 40, 90), (163, 62, 41), (255, 255, 0)]
    cells = np.array([[0, 0, 0, 2], [1, 1, 1, 3]])
    assert float(ciede2000(lab_of_hex("#A33E29"), lab_of_hex("#A03C28"))) < 2.3
    scan = merge_shades(cells, shades, [3, 3, 1, 1])
    assert scan.picture.palette == ("#A03C28", "#1E285A", "#FFFF00")
    assert scan.picture.cells.tolist() == [[0, 0, 0, 0], [1, 1, 1, 2]]
    assert [(entry.shade, entry.into, entry.knots) for entry in scan.merged] == [("#A33E29", "#A03C28", 1)]
    assert scan.merged[0].delta_e == pytest.approx(
        float(ciede2000(lab_of_hex("#A33E29"), lab_of_hex("#A03C28")))
    )
    assert scan.knots_merged == 1
    assert "1 stray" in scan.sentence


def test_two_alike_colours_that_both_fill_a_part_stay_two():
    blues = [(31, 58, 95), (44, 72, 112)]
    away = float(ciede2000(lab_of_hex(hex_of_rgb(blues[0])), lab_of_hex(hex_of_rgb(blues[1]))))
    assert 2.3 < away < 6.0
    cells = np.array([[0] * 60 + [1] * 40])
    assert len(merge_shades(cells, blues, [60, 40]).picture.palette) == 2
    # Rare beside the other, it is a stray; unless the weaver says it is not.
    cells = np.array([[0] * 98 + [1] * 2])
    assert len(merge_shades(cells, blues, [98, 2]).picture.palette) == 1
    assert len(merge_shades(cells, blues, [98, 2], keep=("#2c4870",)).picture.palette) == 2


def test_shades_the_eye_cannot_tell_apart_are_one_however_frequent():
    assert len(merge_shades(np.array([[0, 1]]), [(160, 60, 40), (161, 60, 40)], [1, 1]).picture.palette) == 1


def test_a_cartoon_that_was_read_can_be_cleaned_afterwards():
    cells = np.array([[0] * 50 + [1] * 2, [2] * 52], dtype=np.uint8)
    picture = CartoonPicture(cells=cells, palette=("#A23B2A", "#A63F2E", "#1F3A5F"), name="scan.png")
    cleaned = merge_strays(picture)
    assert cleaned.picture.palette == ("#1F3A5F", "#A23B2A")
    assert cleaned.picture.cells.tolist() == [[1] * 52, [0] * 52]
    assert cleaned.picture.name == "scan.png"


def test_a_single_knot_unlike_all_others_survives():
    scan = merge_shades(np.array([[0] * 99 + [1]]), [(240, 235, 220), (20, 20, 20)], [99, 1])
    assert scan.picture.cells[0, -1] == 1
    assert scan.merged == ()
    assert "2 clean colours" in scan.sentence


def test_a_photo_is_not_merged_into_a_cartoon():
    steps = np.arange(0, 256, 51)
    shades = np.stack(np.meshgrid(steps, steps, steps), -1).reshape(-1, 3)
    cells = np.arange(len(shades)).reshape(1, -1)
    with pytest.raises(BadPicture, match="more than 64 colours"):
        merge_shades(cells, shades, np.ones(len(shades)))


def test_a_palette_finds_its_yarns_the_nearest_first_and_each_once():
    yarns = (
        pile(1, name="madder", swatch="#A23B2A"),
        pile(2, name="indigo", swatch="#1F3A5F"),
        pile(3, name="weld", swatch="#D9B44A"),
    )
    matches = match_palette(("#203B60", "#A43C2B", "#A83E30", "#FFFFFF"), yarns)
    assert [match.yarn_id for match in matches] == ["pile2", "pile1", None, None]
    assert matches[2].name not in {"madder", "indigo", "weld"}
    assert matches[3].name == "white"


def test_a_yarn_keeps_the_value_it_already_claims():
    yarns = (pile(1, name="madder", swatch="#A23B2A", cartoon_values=(1,)),)
    matches = match_palette(("#A23B2A", "#00FF00"), yarns)
    assert [match.yarn_id for match in matches] == [None, "pile1"]


def test_names_never_collide():
    matches = match_palette(("#FF0000", "#EE0000", "#DD0000"), (pile(1, name="Red", swatch="#0000FF"),))
    names = [match.name.casefold() for match in matches]
    assert len({*names, "red"}) == 4


@pytest.mark.parametrize(
    ("colour", "name"),
    [("#000000", "black"), ("#FFFFFF", "white"), ("#808080", "grey"), ("#8B1E1E", "dark red"), ("#1F3A5F", "dark blue"),
     ("#D9B44A", "yellow"), ("#5B3A29", "dark brown"), ("#3E7A3A", "green"), ("#E07B39", "orange"),
     ("#7A1E22", "dark red"), ("#6E2320", "dark red"), ("#C4736A", "red"), ("#8B4513", "brown"), ("#4B2E1F", "dark brown"),
     ("#5B4130", "dark brown"), ("#8A6A45", "brown")],
)  # fmt: skip
def test_colours_have_plain_names(colour, name):
    assert plain_colour_name(colour) == name
