"""Cartoons on paper: what is read from photographs, scans and enlarged pictures is held against the true cartoon."""

from __future__ import annotations

import io
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from PIL import Image, ImageFilter

from tests.reading.on_paper import (
    Trouble,
    cartoon,
    enlarged,
    framed,
    put_on_paper,
    saved,
    scaled,
    sheet_of,
    yarns,
)
from tracker.domain.errors import BadEntry, BadPicture
from tracker.pictures import limits
from tracker.pictures.paper.opening import open_sheet
from tracker.pictures.paper.reading import again, read_sheet
from tracker.pictures.paper.steps import StopReading
from tracker.pictures.paper.understood import (
    Ask,
    How,
    Reading,
    border_wishes,
    may_have_border,
    say_asks,
)
from tracker.pictures.paper.wishes import Wish

KNOTS, ROWS = 46, 64


def true_cartoon(seed: int = 1, colours: int = 5, kind: str = "bordered") -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    return framed(cartoon(rng, ROWS, KNOTS, colours, kind)), yarns(rng, colours)


@cache
def photographed(seed: int = 1, colours: int = 5, **trouble):
    """A photograph with one look at the paper a point: four of them cost more than the reading and prove no more."""
    cells, palette = true_cartoon(seed, colours)
    return put_on_paper(np.random.default_rng(seed), cells, palette, Trouble(**{"supersample": 1} | trouble))


@cache
def read_photograph(**trouble) -> Reading:
    """Return what is read of a photograph, once for all tests that only look at it; a reading is never changed."""
    return read_sheet(photographed(**trouble).data)


def wrong_squares(reading: Reading, cells: np.ndarray) -> np.ndarray:
    """Squares not in the yarn that most squares of the same found colour have."""
    assert reading.cells.shape == cells.shape
    pairs = np.zeros((len(reading.palette), int(cells.max()) + 1), dtype=int)
    np.add.at(pairs, (reading.cells, cells), 1)
    return pairs.argmax(axis=1)[reading.cells] != cells


@pytest.mark.parametrize("points", [2, 3, 6, 11])
@pytest.mark.parametrize("kind", ["bordered", "plain", "stripes"])
def test_a_picture_enlarged_exactly_is_read_at_its_own_size_and_surely(points: int, kind: str) -> None:
    cells, palette = true_cartoon(kind=kind)
    reading = read_sheet(enlarged(cells, palette, points).data)
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    assert not wrong_squares(reading, cells).any()
    assert reading.is_sure


@pytest.mark.parametrize("points", [4, 7])
@pytest.mark.parametrize(("margin", "key"), [(0, False), (13, False), (16, True)])
def test_squares_between_lines_that_a_program_drew_are_read_exactly_and_surely(
    points: int, margin: int, key: bool
) -> None:
    cells, palette = true_cartoon(colours=8, kind="patches")
    palette[2] = 255
    sheet = enlarged(cells, palette, points, lines=True, margin=margin, key=key)
    reading = read_sheet(sheet.data)
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    assert not wrong_squares(reading, cells).any()
    assert np.abs(np.array(reading.corners) - sheet.corners).max() <= 1
    assert reading.is_sure


def test_a_drawn_grid_is_not_looked_at_on_its_lines_alone() -> None:
    rng = np.random.default_rng(2)
    cells, palette = cartoon(rng, 52, 54, 14, "patches"), yarns(rng, 14)
    # 216 x 208 squares of 8 points: every so-many-th point of either side may lie on a line.
    reading = read_sheet(enlarged(np.tile(cells, (4, 4)), palette, 8, lines=True).data)
    assert (reading.knots_across, reading.rows) == (216, 208)


def test_every_tenth_line_may_be_thick_and_of_another_colour() -> None:
    cells, palette = true_cartoon()
    picture = np.asarray(Image.open(io.BytesIO(enlarged(cells, palette, 7, lines=True).data))).copy()
    for start in range(0, picture.shape[0], 70):
        picture[start : start + 1] = 10
    for start in range(0, picture.shape[1], 70):
        picture[:, start : start + 2] = 10
    reading = read_sheet(saved(Image.fromarray(picture)))
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    assert not wrong_squares(reading, cells).any()
    assert reading.is_sure


def marked(cells: np.ndarray, palette: np.ndarray, points: int, lines: bool) -> bytes:
    """A drawn chart with a black mark for its yarn in every square."""
    rng = np.random.default_rng(3)
    marks = np.zeros((len(palette), points, points), dtype=bool)
    marks[:, 2:-1, 2:-1] = rng.random((len(palette), points - 3, points - 3)) < 0.35
    big = palette[np.kron(cells, np.ones((points, points), dtype=np.uint8))]
    big[marks[cells].transpose(0, 2, 1, 3).reshape(big.shape[:2])] = 0
    if lines:
        big[::points], big[:, ::points] = 96, 96
    return saved(Image.fromarray(big))


def test_drawn_marks_on_coloured_squares_between_lines_are_no_yarn() -> None:
    cells, palette = true_cartoon()
    reading = read_sheet(marked(cells, palette, 10, lines=True))
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    assert len(reading.palette) == 5
    assert not wrong_squares(reading, cells).any()
    assert reading.is_sure


@pytest.mark.parametrize("kind", ["bordered", "stripes", "patches"])
def test_drawn_marks_on_squares_without_lines_are_no_knots(kind: str) -> None:
    cells, palette = true_cartoon(kind=kind)
    reading = read_sheet(marked(cells, palette, 10, lines=False))
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    assert not wrong_squares(reading, cells).any()
    assert reading.is_sure


@pytest.mark.parametrize("times", [1.5, 2.5, 3.3])
def test_a_picture_made_larger_point_by_point_is_read_at_its_own_size(times: float) -> None:
    rng = np.random.default_rng(1)
    cells, palette = cartoon(rng, ROWS, KNOTS, 5, "speckled"), yarns(rng, 5)
    at = [(np.arange(int(side * times)) / times).astype(int) for side in (ROWS, KNOTS)]
    reading = read_sheet(saved(Image.fromarray(palette[cells[np.ix_(*at)]])))
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    assert not wrong_squares(reading, cells).any()
    assert reading.is_sure


@pytest.mark.parametrize("times", [1.3, 1.4, 2.5, 6.4])
def test_a_plain_design_made_larger_loses_no_row_where_rows_are_alike(times: float) -> None:
    cells, palette = true_cartoon(kind="stripes")
    cells[-1], cells[20], cells[:, 9] = cells[-2], cells[19], cells[:, 8]
    size = round(KNOTS * times), round(ROWS * times)
    picture = Image.fromarray(palette[cells]).resize(size, Image.Resampling.NEAREST)
    reading = read_sheet(saved(picture))
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    assert not wrong_squares(reading, cells).any()


def test_a_picture_made_a_little_larger_is_never_taken_point_by_point_unasked() -> None:
    for seed in range(1, 9):
        cells, palette = true_cartoon(seed, kind="patches")
        size = round(KNOTS * 1.1), round(ROWS * 1.1)
        reading = read_sheet(saved(Image.fromarray(palette[cells]).resize(size, Image.Resampling.NEAREST)))
        assert Ask.SIZE in reading.asks, seed


def test_a_repeat_mirrored_again_and_again_is_a_point_a_knot_unasked() -> None:
    tile = cartoon(np.random.default_rng(4), 60, 60, 6, "speckled")[:14, :11]
    half = np.concatenate([tile, tile[:, ::-1]], axis=1)
    cells = np.tile(np.concatenate([half, half[::-1]]), (5, 5))
    reading = read_sheet(saved(Image.fromarray(yarns(np.random.default_rng(4), 6)[cells])))
    assert (reading.knots_across, reading.rows) == (110, 140)
    assert reading.is_sure


@pytest.mark.parametrize(("margin", "asks"), [(5, ()), (21, (Ask.BORDER,))])
def test_blocks_in_a_margin_are_read_without_it_however_wide_it_is(
    margin: int, asks: tuple[Ask, ...]
) -> None:
    cells, palette = true_cartoon(kind="patches")
    palette[:] = np.minimum(palette, 200)
    reading = read_sheet(enlarged(cells, palette, 6, margin=margin).data)
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    # Wide enough for a border of white squares, it might be one.
    assert reading.asks == asks


def test_a_white_ring_round_blocks_is_asked_about() -> None:
    cells, palette = true_cartoon(kind="patches")
    palette[:] = np.minimum(palette, 200)
    reading = read_sheet(enlarged(cells, palette, 6, margin=12).data)
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS) or Ask.EDGES in reading.asks
    palette[0] = 255
    assert Ask.EDGES in read_sheet(enlarged(cells, palette, 6).data).asks


def test_a_plain_design_whose_parts_fall_on_a_common_step_is_asked_about() -> None:
    cells = np.zeros((120, 96), dtype=np.uint8)
    cells[8:112, 8:88], cells[24:96, 24:72], cells[40:80, 32:64] = 1, 2, 0
    reading = read_sheet(saved(Image.fromarray(yarns(np.random.default_rng(1), 3)[cells])))
    assert Ask.SIZE in reading.asks
    wished = again(reading, knots=96, rows=120)
    assert np.array_equal(wished.cells != wished.cells[0, 0], cells != 0)


def test_grid_lines_a_margin_and_a_key_beside_it_are_no_knots_and_no_yarn() -> None:
    cells, palette = true_cartoon()
    reading = read_sheet(enlarged(cells, palette, 6, lines=True, margin=21, key=True).data)
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    assert len(reading.palette) == 5
    assert not wrong_squares(reading, cells).any()
    assert reading.is_sure


def test_a_margin_of_whole_squares_all_round_is_no_part_of_it() -> None:
    sheet = sheet_of(3004, "enlarged, lines, key")
    reading = read_sheet(sheet.data)
    assert (reading.knots_across, reading.rows) == (sheet.knots, sheet.rows)
    assert Ask.EDGES not in reading.asks, "its lines and its colours end alike"


@pytest.mark.parametrize("ring", ["paper", "coloured"])
def test_lines_seen_here_and_there_tell_the_end_together_with_the_colours(ring: str) -> None:
    cells, palette = true_cartoon(kind="lattice")
    # On yarns as dark as the ink hardly a line is seen.
    palette = np.concatenate([np.minimum(palette, 60), [[250, 248, 240]]]).astype(np.uint8)
    palette[:5] += (np.arange(5, dtype=np.uint8) * 9)[:, None] * np.array([1, 0, 0], dtype=np.uint8)
    palette[3] = (214, 150, 60)
    edge = 5 if ring == "paper" else 3
    cells[:2], cells[-2:], cells[:, :2], cells[:, -2:] = edge, edge, edge, edge
    trouble = Trouble(points=9.0, grid="thin", tilt_deg=6, noise=2, jpeg=85, supersample=1)
    reading = read_sheet(put_on_paper(np.random.default_rng(2), cells, palette, trouble).data)
    right = (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    assert right or Ask.EDGES in reading.asks
    if ring == "coloured":
        assert right
        # The dark yarns are hardly told from each other: how many there are is asked, where the cartoon ends is not.
        assert {Ask.SIZE, Ask.EDGES}.isdisjoint(reading.asks)


def test_squares_in_noise_that_fit_everywhere_are_counted_unasked() -> None:
    cells, palette = true_cartoon(kind="lattice")
    palette[0] = (110, 40, 36)
    trouble = Trouble(points=6.5, grid="none", tilt_deg=4, noise=7, jpeg=60, blur=0.14, supersample=1)
    reading = read_sheet(put_on_paper(np.random.default_rng(3), framed(cells), palette, trouble).data)
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    assert reading.found is not None
    assert reading.found.coherence < 0.6, "few edges keep step"
    assert Ask.SIZE not in reading.asks


def test_a_margin_of_whole_squares_round_a_design_without_lines_is_asked_about() -> None:
    cells, palette = true_cartoon(kind="lattice")
    palette[0] = (110, 40, 36)
    trouble = Trouble(points=7.0, grid="none", noise=3, jpeg=85, supersample=1)
    # Four squares of paper on every side, and the picture ends with them.
    reading = read_sheet(put_on_paper(np.random.default_rng(3), framed(cells), palette, trouble).data)
    right = (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    assert not (reading.is_sure and not right)
    assert Ask.EDGES in reading.asks


def test_two_yarns_as_light_as_each_other_are_no_picture_of_one_colour() -> None:
    cells, _palette = true_cartoon(colours=2, kind="medallion")
    # Both have a mean of 120.
    palette = np.array([[150, 90, 120], [90, 150, 120]], dtype=np.uint8)
    reading = read_sheet(scaled(cells, palette, 7.3, jpeg=85).data)
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)


@pytest.mark.parametrize(("seed", "size"), [(14001, (97, 116)), (14004, (78, 91)), (14005, (60, 123))])
def test_a_soft_picture_that_is_full_of_squares_is_counted_from_side_to_side(
    seed: int, size: tuple[int, int]
) -> None:
    # Three to four points a knot: motifs and diagonals keep step better than the squares, but not with the picture's sides.
    reading = read_sheet(sheet_of(seed, "scaled, soft").data)
    assert (reading.knots_across, reading.rows) == size


def test_squares_of_several_knots_each_are_asked_about_by_their_number() -> None:
    # 77 x 117 knots with thin lines are taken for half as many each way.
    sheet = sheet_of(22039, "photo, shadow")
    reading = read_sheet(sheet.data)
    assert (reading.knots_across, reading.rows) == (sheet.knots, sheet.rows) or Ask.SIZE in reading.asks


def test_dark_squares_one_by_one_are_not_taken_for_lines_where_none_are_drawn() -> None:
    sheet = sheet_of(14006, "scan, no grid")
    reading = read_sheet(sheet.data)
    assert (reading.knots_across, reading.rows) == (sheet.knots, sheet.rows)


def test_a_sheet_turned_a_little_does_not_fill_its_picture_though_its_margin_is_whole_squares() -> None:
    sheet = sheet_of(14003, "scan, no grid")
    reading = read_sheet(sheet.data)
    assert (reading.knots_across, reading.rows) == (sheet.knots, sheet.rows)


def test_rows_that_run_along_the_diagonals_of_lozenges_are_asked_about() -> None:
    rng = np.random.default_rng([20, 25])
    cells, palette = framed(cartoon(rng, 90, 64, 6, "lattice")), yarns(rng, 6)
    trouble = Trouble(points=9.0, grid="none", turn_deg=0.25, margin=2.0, noise=2, jpeg=85, blur=0.1)
    reading = read_sheet(put_on_paper(rng, cells, palette, trouble).data)
    assert (reading.knots_across, reading.rows) == (64, 90) or Ask.SIZE in reading.asks


@pytest.mark.parametrize("ring", [False, True])
def test_a_key_as_high_as_the_cartoon_without_lines_is_no_part_of_it(ring: bool) -> None:
    cells, palette = true_cartoon(colours=12, kind="bordered")
    cells, palette = cells[:58], np.minimum(palette, 200)
    cells[:2], cells[-2:], cells[:, :2], cells[:, -2:] = 0, 0, 0, 0
    if ring:
        # White all round inside the frame: its rows and columns are coloured at both ends.
        palette[1] = (250, 248, 240)
        cells[2:5, 2:-2], cells[-5:-2, 2:-2], cells[2:-2, 2:5], cells[2:-2, -5:-2] = 1, 1, 1, 1
    trouble = Trouble(
        points=9.0, grid="none", tilt_deg=6, key=True, table=True, noise=2, jpeg=85, supersample=1
    )
    reading = read_sheet(put_on_paper(np.random.default_rng(2), cells, palette, trouble).data)
    assert reading.cells.shape == cells.shape


def test_squares_that_skip_lines_are_asked_about_though_edges_keep_step() -> None:
    sheet = sheet_of(9001, "photo, no grid")
    reading = read_sheet(sheet.data)
    right = (reading.knots_across, reading.rows) == (sheet.knots, sheet.rows)
    assert right or Ask.SIZE in reading.asks


def test_a_pale_border_of_a_picture_without_lines_is_its_own() -> None:
    cells, palette = true_cartoon(kind="speckled")
    palette[0] = (244, 240, 228)
    reading = read_sheet(scaled(cells, palette, 7.3, jpeg=85).data)
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    assert not wrong_squares(reading, cells).any()


@pytest.mark.parametrize("jpeg", [0, 80])
def test_a_scan_at_seven_and_a_third_points_is_read(jpeg: int) -> None:
    cells, palette = true_cartoon()
    reading = read_sheet(scaled(cells, palette, 7.3, jpeg=jpeg).data)
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    assert len(reading.palette) == 5
    assert not wrong_squares(reading, cells).any()


@pytest.mark.parametrize(
    "trouble",
    [
        {"grid": "none"},
        {"grid": "thin", "numbers": True, "key": True},
        {"grid": "tenth", "aspect": 1.2, "falloff": 0.5},
        {"grid": "thin", "inside": "symbols"},
        {"grid": "thin", "inside": "dots", "points": 11.0, "tilt_deg": 4, "turn_deg": 1},
        {"grid": "tenth", "bend": 0.006},
    ],
    ids=lambda trouble: " ".join(f"{key} {value}" for key, value in trouble.items()),
)
def test_a_photograph_from_aside_is_read_knot_by_knot(trouble: dict) -> None:
    sheet = photographed(
        **{"points": 9.0, "tilt_deg": 14, "turn_deg": 6, "table": True, "noise": 2, "jpeg": 80, "blur": 0.05}
        | trouble
    )
    reading = read_sheet(sheet.data)
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    assert len(reading.palette) == 5
    assert wrong_squares(reading, sheet.cells).mean() <= 0.002
    assert np.abs(np.array(reading.corners) - sheet.corners).max() < 0.35 * sheet.points


@pytest.mark.parametrize(
    ("seed", "trouble"),
    [
        (3, {"inside": "dots", "tilt_deg": 20, "turn_deg": -8, "numbers": True}),
        (4, {"inside": "dots", "grid": "none", "points": 10.0, "tilt_deg": 12, "turn_deg": 7}),
        (
            5,
            {
                "inside": "dots",
                "grid": "tenth",
                "points": 12.0,
                "tilt_deg": 10,
                "turn_deg": -7.5,
                "key": True,
                "blur": 0.12,
            },
        ),
        (6, {"inside": "symbols", "points": 8.0, "tilt_deg": 24, "turn_deg": 6}),
    ],
    ids=lambda value: str(value),
)
def test_dots_and_marks_on_a_turned_sheet_have_the_right_size(seed: int, trouble: dict) -> None:
    sheet = photographed(
        seed=seed, **{"points": 9.0, "table": True, "noise": 2, "jpeg": 75, "blur": 0.05} | trouble
    )
    reading = read_sheet(sheet.data)
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    assert wrong_squares(reading, sheet.cells).mean() <= 0.005


@pytest.mark.parametrize("seed", [2, 3])
def test_pale_dots_at_the_sides_are_no_paper(seed: int) -> None:
    rng = np.random.default_rng(seed)
    colours, kind = {2: (3, "bordered"), 3: (6, "speckled")}[seed]
    cells, palette = framed(cartoon(rng, ROWS, KNOTS, colours, kind)), yarns(rng, colours)
    trouble = {
        2: Trouble(
            points=13.4, inside="dots", grid="tenth", aspect=1.2, tilt_deg=17, turn_deg=5.7, supersample=1
        ),
        3: Trouble(points=12.3, inside="dots", tilt_deg=26.5, turn_deg=-6.2, falloff=0.17, supersample=1),
    }[seed]
    trouble = replace(trouble, noise=(3 if seed == 2 else 4.7), jpeg=55, blur=0.12)
    reading = read_sheet(put_on_paper(np.random.default_rng(seed), cells, palette, trouble).data)
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)


@pytest.mark.parametrize(("seed", "colours"), [(1, 12), (32, 16), (44, 16)])
def test_blurred_dots_close_together_are_neither_empty_squares_nor_cut_off_in_silence(
    seed: int, colours: int
) -> None:
    rng = np.random.default_rng(seed)
    if seed > 1:
        rng.choice([12, 16])
    cells, palette = cartoon(rng, ROWS, KNOTS, colours, "speckled"), yarns(rng, colours)
    trouble = Trouble(points=11.6, inside="dots", tilt_deg=20, noise=4.3, jpeg=50, blur=0.14, supersample=1)
    if seed == 1:
        trouble = replace(trouble, points=11.7, tilt_deg=18, turn_deg=-8, noise=4.2, blur=0.135)
    else:
        trouble = replace(trouble, turn_deg=float(rng.uniform(-10, 10)))
    reading = read_sheet(put_on_paper(rng, cells, palette, trouble).data)
    assert Ask.EDGES in reading.asks or reading.cells.shape == cells.shape
    assert len(reading.palette) == colours


def test_small_dots_of_many_yarns_are_looked_at_in_their_middles() -> None:
    rng = np.random.default_rng(4)
    cells, palette = cartoon(rng, ROWS, KNOTS, 14, "speckled"), yarns(rng, 14)
    trouble = Trouble(
        points=8.0, inside="dots", grid="tenth", tilt_deg=14, turn_deg=-6, noise=2, jpeg=80, blur=0.08
    )
    reading = read_sheet(put_on_paper(rng, cells, palette, replace(trouble, supersample=1)).data)
    assert reading.asks == ()
    assert wrong_squares(reading, cells).mean() <= 0.001, "paper beside them mixes with the yarn"


@pytest.mark.parametrize("inside", ["dots", "symbols"])
def test_lines_too_faint_to_be_seen_square_by_square_tell_where_a_cartoon_ends(inside: str) -> None:
    rng = np.random.default_rng(5)
    cells, palette = framed(cartoon(rng, ROWS, KNOTS, 4, "bordered")), yarns(rng, 4)
    palette[0] = 205, 196, 180
    trouble = Trouble(points=8.5, inside=inside, tilt_deg=10, turn_deg=5, noise=3, jpeg=50, blur=0.14)
    reading = read_sheet(put_on_paper(rng, cells, palette, replace(trouble, supersample=1)).data)
    assert reading.asks == ()
    assert not wrong_squares(reading, cells).any()


@pytest.mark.slow
@pytest.mark.parametrize(
    ("seed", "kind"),
    [(8001, "dots"), (8002, "dots"), (4101, "dots"), (4102, "dots"), (4103, "dots"), (4102, "symbols")],
)
def test_dots_are_read_neither_along_their_diagonals_nor_as_half_squares(seed: int, kind: str) -> None:
    sheet = sheet_of(seed, kind)
    reading = read_sheet(sheet.data)
    assert (reading.knots_across, reading.rows) == (sheet.knots, sheet.rows)


def test_a_strongly_tilted_sheet_of_many_small_squares_slips_by_no_row() -> None:
    rng = np.random.default_rng(8)
    cells = framed(cartoon(rng, 150, 100, 5, "plain"))
    trouble = Trouble(
        points=6.5,
        tilt_deg=30,
        turn_deg=9,
        table=True,
        numbers=True,
        noise=3,
        jpeg=70,
        blur=0.1,
        supersample=1,
    )
    sheet = put_on_paper(rng, cells, yarns(rng, 5), trouble)
    reading = read_sheet(sheet.data)
    assert (reading.knots_across, reading.rows) == (100, 150)
    assert np.abs(np.array(reading.corners) - sheet.corners).max() < 0.5 * sheet.points


@pytest.mark.parametrize("shadow", [0.3, 0.5])
def test_a_hard_shadow_makes_no_second_yarn_of_any(shadow: float) -> None:
    sheet = photographed(points=9.0, tilt_deg=9, turn_deg=4, table=True, noise=2, jpeg=80, shadow=shadow)
    reading = read_sheet(sheet.data)
    assert len(reading.palette) == 5
    assert wrong_squares(reading, sheet.cells).mean() <= 0.002


def test_a_light_blue_sky_over_a_dark_blue_sea_is_no_shadow() -> None:
    cells = np.zeros((ROWS, KNOTS), dtype=np.uint8)
    cells[ROWS // 2 :] = 1
    cells[4:12, 6:20], cells[-12:-4, -20:-6] = 2, 3
    sky, sun, boat = np.array([120, 160, 215]), (230, 190, 60), (120, 40, 30)
    palette = np.array([sky, sky * 0.75, sun, boat], dtype=np.uint8)
    sheet = put_on_paper(
        np.random.default_rng(5), cells, palette, Trouble(points=9.0, tilt_deg=5, noise=2, jpeg=85)
    )
    reading = read_sheet(sheet.data)
    assert len(reading.palette) == 4
    assert not wrong_squares(reading, cells).any()


@pytest.mark.parametrize(("points", "grid"), [(66.0, "thin"), (66.0, "none")])
def test_squares_larger_than_sixty_points_are_read_at_a_glance(points: float, grid: str) -> None:
    rng = np.random.default_rng(2)
    cells = cartoon(rng, 20, 16, 4, "patches")
    cells = framed(cells) if grid == "none" else cells
    trouble = Trouble(
        points=points,
        grid=grid,
        tilt_deg=10,
        turn_deg=1,
        table=True,
        noise=2,
        jpeg=80,
        margin=2,
        supersample=1,
    )
    sheet = put_on_paper(rng, cells, yarns(rng, 4), trouble)
    reading = read_sheet(sheet.data)
    assert (reading.knots_across, reading.rows) == (16, 20)
    assert not wrong_squares(reading, cells).any()
    # Lines tell where the cartoon ends; without them its frame does, as far as anybody sees.
    assert reading.asks == ((Ask.BORDER,) if grid == "none" else ())


@pytest.mark.parametrize("drawn", [True, False])
@pytest.mark.parametrize(
    ("framed", "white_inside", "asked"), [(True, False, False), (True, True, True), (False, False, True)]
)
def test_a_cartoon_without_lines_ends_surely_only_in_a_frame_and_with_nothing_white_inside(
    framed: bool, white_inside: bool, asked: bool, drawn: bool
) -> None:
    cells, palette = true_cartoon(kind="bordered")
    palette = np.concatenate([palette, [[250, 248, 240]]]).astype(np.uint8)
    cells[:2], cells[-2:], cells[:, :2], cells[:, -2:] = 0, 0, 0, 0
    if not framed:
        cells[:3, 9:30] = 1
    if white_inside:
        cells[20:24, 10:16] = 5
    palette[:5] = [[150, 40, 36], [30, 60, 110], [90, 110, 40], [170, 120, 20], [60, 40, 60]]
    if drawn:
        palette[5] = 255
        sheet = enlarged(cells, palette, 7, margin=25)
    else:
        trouble = Trouble(points=9.0, grid="none", tilt_deg=6, noise=2, jpeg=85, supersample=1)
        sheet = put_on_paper(np.random.default_rng(2), cells, palette, trouble)
    reading = read_sheet(sheet.data)
    assert (Ask.EDGES in reading.asks) == asked
    assert (Ask.BORDER in reading.asks) != asked, "outside a frame, too, there may be a white border"
    assert not reading.is_sure
    if not asked:
        assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)


@pytest.mark.parametrize("border", [0, 1, 2])
def test_numbers_close_to_a_frame_tell_that_no_white_border_lies_between(border: int) -> None:
    cells, palette = true_cartoon(kind="bordered")
    palette = np.concatenate([np.minimum(palette, 190), [[250, 248, 240]]]).astype(np.uint8)
    cells = np.pad(cells, border, constant_values=5)
    trouble = Trouble(points=9.0, grid="none", numbers=True, turn_deg=1, noise=2, jpeg=85, supersample=1)
    reading = read_sheet(put_on_paper(np.random.default_rng(2), cells, palette, trouble).data)
    assert reading.is_sure == (border == 0)
    if border == 0:
        assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)


def test_a_white_border_whose_end_nobody_sees_is_spoken_of() -> None:
    cells, palette = true_cartoon(kind="bordered")
    palette[:5] = [[255, 255, 255], [30, 60, 110], [90, 110, 40], [170, 120, 20], [60, 40, 60]]
    ring = np.ones(cells.shape, dtype=bool)
    ring[2:-2, 2:-2] = False
    cells[~ring & (cells == 0)] = 1
    cells[2:4, 2:-2], cells[-4:-2, 2:-2], cells[2:-2, 2:4], cells[2:-2, -4:-2] = 4, 4, 4, 4
    reading = read_sheet(enlarged(cells, palette, 7, margin=25).data)
    assert (reading.knots_across, reading.rows) == (KNOTS - 4, ROWS - 4), "no pixel tells that it is there"
    assert reading.asks == (Ask.BORDER,)
    assert "white border" in say_asks(reading)[0]
    assert not reading.is_sure
    assert may_have_border(reading)
    whole = again(reading, **border_wishes(reading, 2))
    assert (whole.knots_across, whole.rows) == (KNOTS, ROWS)
    assert not wrong_squares(whole, cells).any()
    assert not may_have_border(whole)
    with pytest.raises(BadEntry, match="Enter fewer"):
        border_wishes(reading, 12)


def test_a_white_border_on_white_paper_is_taken_in_where_the_weaver_says_how_wide_it_is() -> None:
    cells, palette = true_cartoon(kind="bordered")
    palette[:5] = [[150, 40, 36], [30, 60, 110], [90, 110, 40], [170, 120, 20], [60, 40, 60]]
    cells[:2], cells[-2:], cells[:, :2], cells[:, -2:] = 0, 0, 0, 0
    bordered = np.pad(cells, 3, constant_values=5)
    palette = np.concatenate([palette, [[250, 248, 240]]]).astype(np.uint8)
    trouble = Trouble(points=8.0, grid="none", tilt_deg=8, turn_deg=4, noise=2, jpeg=85, supersample=1)
    sheet = put_on_paper(np.random.default_rng(2), bordered, palette, trouble)
    reading = read_sheet(sheet.data)
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    assert may_have_border(reading)
    whole = again(reading, **border_wishes(reading, 3))
    assert whole.cells.shape == bordered.shape
    assert not wrong_squares(whole, bordered).any()
    away = np.linalg.norm(np.array(whole.corners) - sheet.corners, axis=1)
    assert away.max() < 0.5 * trouble.points, "in the photograph, too"


def test_a_yarn_of_a_few_scattered_squares_is_a_yarn() -> None:
    cells, palette = true_cartoon(seed=4, colours=4, kind="medallion")
    rare = np.array([[199, 67, 65], [93, 201, 237]], dtype=np.uint8)
    at = np.random.default_rng(7).integers(4, (ROWS - 4, KNOTS - 4), (24, 2))
    for index, (row, knot) in enumerate(at):
        cells[row, knot] = 4 + index % 2
    palette = np.concatenate(
        [np.array([[193, 191, 24], [38, 81, 34], [150, 26, 134], [120, 120, 120]]), rare]
    )
    trouble = Trouble(points=5.8, turn_deg=1.8, numbers=True, noise=2, jpeg=65, blur=0.142)
    sheet = put_on_paper(np.random.default_rng(4), cells, palette.astype(np.uint8), trouble)
    reading = read_sheet(sheet.data)
    assert len(reading.palette) == 6
    assert wrong_squares(reading, cells).mean() <= 0.002


def test_lines_unseen_on_dark_yarn_do_not_cut_the_sides_off() -> None:
    cells, palette = true_cartoon(kind="bordered")
    cells[:4], cells[-4:], cells[:, :4], cells[:, -4:] = 0, 0, 0, 0
    palette[0] = (58, 46, 66)
    sheet = put_on_paper(
        np.random.default_rng(2), cells, palette, Trouble(points=9.0, turn_deg=2, key=True, noise=3, jpeg=75)
    )
    reading = read_sheet(sheet.data)
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)


def test_a_dark_border_of_one_colour_in_which_lines_are_hardly_seen_is_not_cut_off_in_silence() -> None:
    """A sheet of 36 x 48 on a table, dark red three squares wide all round, was read as 30 x 42: "everything fits"."""
    rows, knots, side = 48, 36, 22
    b, a = np.mgrid[:rows, :knots]
    away = np.abs(a - knots // 2) + np.abs(b - rows // 2)
    cells = np.where(away < 9, 2, np.where(away < 12, 3, 1))
    cells[(cells == 1) & ((3 * a + 5 * b) % 23 == 0)] = 2
    cells[(np.minimum(a, knots - 1 - a) < 3) | (np.minimum(b, rows - 1 - b) < 3)] = 0
    shades = np.array([[160, 40, 34], [238, 228, 202], [33, 54, 104], [70, 110, 62]], dtype=np.float32)
    sheet = shades[cells].repeat(side, axis=0).repeat(side, axis=1)
    for axis in (0, 1):
        places = np.arange(0, sheet.shape[axis], side)
        lines = (slice(None), places) if axis else (places,)
        sheet[lines] = 0.5 * sheet[lines] + 0.5 * 70.0
    table = Image.new("RGB", (1100, 1360), (150, 140, 125))
    table.paste(Image.fromarray(sheet.astype(np.uint8)), (150, 150))
    turned = table.rotate(2.5, Image.Resampling.BICUBIC, fillcolor=(150, 140, 125))
    reading = read_sheet(saved(turned, jpeg=90))
    assert (reading.knots_across, reading.rows) == (knots, rows)
    # The line between its outermost squares and the table leaks into a few.
    assert wrong_squares(reading, cells).mean() < 0.01
    assert not reading.is_sure


def test_a_key_close_to_a_cartoon_of_many_colours_is_no_part_of_it() -> None:
    rng = np.random.default_rng(9)
    cells, palette = cartoon(rng, 90, KNOTS, 18, "medallion"), yarns(rng, 18)
    trouble = Trouble(
        points=12.0,
        tilt_deg=7,
        turn_deg=-11,
        key=True,
        table=True,
        noise=3,
        jpeg=75,
        blur=0.07,
        supersample=1,
    )
    reading = read_sheet(put_on_paper(rng, cells, palette, trouble).data)
    assert (reading.knots_across, reading.rows) == (KNOTS, 90)


@pytest.mark.parametrize("kind", ["speckled", "plain", "medallion", "lattice", "boxes"])
def test_one_point_a_knot_is_read_as_it_is_and_surely(kind: str) -> None:
    cells, palette = true_cartoon(kind=kind if kind != "boxes" else "plain")
    if kind == "boxes":
        cells[:] = 0
        cells[5:60, 5:41], cells[11:54, 12:33], cells[17:40, 19:30] = 1, 2, 3
    reading = read_sheet(saved(Image.fromarray(palette[cells])))
    assert reading.how is How.POINTS
    assert not wrong_squares(reading, cells).any()
    assert reading.is_sure


def test_softened_edges_at_one_point_a_knot_give_no_ghost_yarns() -> None:
    cells, palette = true_cartoon()
    soft = Image.fromarray(palette[cells]).filter(ImageFilter.GaussianBlur(0.25))
    reading = read_sheet(saved(soft))
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)
    assert len(reading.palette) == 5
    assert wrong_squares(reading, cells).mean() < 0.01


def test_row_one_of_the_cartoon_is_the_bottom_row_of_the_paper() -> None:
    reading = read_photograph(points=8.0)
    assert np.array_equal(reading.picture.cells[0], reading.cells[-1])


def test_with_corners_and_numbers_given_even_three_points_a_knot_have_the_right_size() -> None:
    sheet = photographed(points=3.2, tilt_deg=12, turn_deg=5, table=True, jpeg=85)
    corners = tuple((float(x), float(y)) for x, y in sheet.corners)
    reading = read_sheet(sheet.data, wish=Wish(knots=KNOTS, rows=ROWS, corners=corners))
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)


def test_the_picture_is_turned_as_the_camera_says() -> None:
    sheet = photographed(points=8.0)
    lying = Image.open(io.BytesIO(sheet.data)).transpose(Image.Transpose.ROTATE_90)
    exif = Image.Exif()
    exif[0x0112] = 6  # "turn a quarter clockwise to see it upright"
    out = io.BytesIO()
    lying.save(out, "JPEG", quality=92, exif=exif)
    reading = read_sheet(out.getvalue())
    assert not wrong_squares(reading, sheet.cells).any()


@pytest.mark.parametrize("kind", ["WEBP", "TIFF", "BMP", "GIF"])
def test_every_usual_kind_of_picture_is_taken(kind: str) -> None:
    sheet = photographed(points=8.0)
    out = io.BytesIO()
    options = {"lossless": True} if kind == "WEBP" else {}
    Image.open(io.BytesIO(sheet.data)).convert("RGB").save(out, kind, **options)
    reading = read_sheet(out.getvalue())
    assert (reading.knots_across, reading.rows) == (KNOTS, ROWS)


def test_smudged_squares_are_doubted_however_they_are_smudged() -> None:
    cells, palette = true_cartoon(3)
    # In a scan that lies straight the squares' places are known without reckoning.
    trouble = Trouble(points=12.0, noise=2, blur=0.05, supersample=1)
    sheet = put_on_paper(np.random.default_rng(3), cells, palette, trouble)
    picture = np.asarray(Image.open(io.BytesIO(sheet.data)).convert("RGB")).astype(float)
    smudged = np.zeros(cells.shape, dtype=bool)
    rng = np.random.default_rng(3)
    places = [(row, knot) for row in range(4, ROWS - 4, 7) for knot in range(4, KNOTS - 4, 9)]
    y, x = np.mgrid[0:12, 0:12]
    shapes = (x < 6, x + y < 12, y < 6, np.ones_like(x, dtype=bool))
    for place, (row, knot) in enumerate(places):
        other = palette[(cells[row, knot] + 1 + place % 3) % len(palette)]
        shape = shapes[place % 4]
        share = 0.5 if shape.all() else 0.95
        top, left = (np.rint(sheet.corners[0][::-1]) + np.array([row, knot]) * 12).astype(int)
        part = picture[top : top + 12, left : left + 12]
        part[shape] = part[shape] * (1 - share) + other * share * rng.uniform(0.6, 1)
        smudged[row, knot] = True
    reading = read_sheet(saved(Image.fromarray(picture.astype(np.uint8)), 90))
    assert reading.cells.shape == cells.shape
    wrong = wrong_squares(reading, cells)
    assert wrong[smudged].sum() > 12, "half of a smudged square is not its yarn"
    assert (reading.doubted & wrong)[smudged].sum() > 0.9 * wrong[smudged].sum()
    assert reading.doubted[~smudged].mean() < 0.002, "no sound square is doubted for it"


def test_setting_the_number_of_colours_by_hand_reckons_anew_on_the_same_picture() -> None:
    reading = read_photograph(points=8.0)
    fewer = again(reading, colours=3)
    assert len(fewer.palette) == 3
    assert fewer.sheet is reading.sheet
    assert len(again(fewer, colours=None).palette) == len(reading.palette)


def test_the_number_of_colours_can_be_set_of_a_picture_that_was_enlarged_exactly() -> None:
    cells, palette = true_cartoon()
    palette[1] = palette[0] + 4
    reading = read_sheet(enlarged(cells, palette, 6).data)
    assert len(reading.palette) == 5
    fewer = again(reading, colours=4)
    assert len(fewer.palette) == 4
    assert np.unique(fewer.cells[(cells == 0) | (cells == 1)]).size == 1, "the two that are most alike"


def test_cropping_to_a_part_reads_that_part() -> None:
    sheet = photographed(points=8.0, grid="thin", supersample=2)
    reading = read_photograph(points=8.0, grid="thin", supersample=2)
    (left, top), _right, (right, bottom), _low = reading.corners
    middle = (top + bottom) / 2
    half = again(reading, crop=(left - 20, top - 20, right + 20, middle + 1))
    assert half.knots_across == KNOTS
    assert half.rows == ROWS // 2
    assert not wrong_squares(half, sheet.cells[: ROWS // 2]).any()


def test_a_stop_ends_the_reading_and_the_bar_moves_until_then() -> None:
    sheet = photographed(points=8.0, turn_deg=2, jpeg=85)
    shares: list[float] = []
    with pytest.raises(StopReading):
        read_sheet(sheet.data, progress=shares.append, stop=lambda: bool(shares) and shares[-1] >= 0.4)
    assert shares == sorted(shares)
    assert 0.4 <= shares[-1] < 0.7


@pytest.mark.parametrize(
    ("picture", "says"),
    [
        (Image.new("RGB", (600, 800), (3, 3, 4)), "too dark"),
        (Image.new("RGB", (600, 800), (180, 181, 180)), "of one colour"),
    ],
)
def test_a_picture_of_nothing_gets_a_sentence_that_says_what_to_do(picture: Image.Image, says: str) -> None:
    noise = np.random.default_rng(1).integers(0, 4, (800, 600, 3), dtype=np.uint8)
    noisy = Image.fromarray(np.asarray(picture) + noise)
    with pytest.raises(BadPicture, match=says):
        read_sheet(saved(noisy, 90))


def test_nothing_but_grid_gets_a_sentence() -> None:
    cells = np.zeros((ROWS, KNOTS), dtype=np.uint8)
    paper = np.array([[250, 248, 240]], dtype=np.uint8)
    sheet = put_on_paper(np.random.default_rng(1), cells, paper, Trouble(points=9.0, jpeg=85, noise=2))
    with pytest.raises(BadPicture, match="all empty"):
        read_sheet(sheet.data)


@pytest.mark.parametrize("kind", ["PNG", "GIF", "BMP", "TIFF", "WEBP"])
@pytest.mark.parametrize("colour", [0, 150, 255])
def test_a_picture_of_one_colour_is_refused_whatever_file_it_is(kind: str, colour: int) -> None:
    picture = Image.new("L", (90, 60), colour).convert("RGB" if kind == "WEBP" else "L")
    with pytest.raises(BadPicture, match=r"too dark|of one colour"):
        read_sheet(in_file(picture, kind, lossless=True))
    # What the weaver says of it counts.
    assert read_sheet(in_file(picture, "PNG"), wish=Wish(colours=1)).cells.shape == (60, 90)


def in_file(picture: Image.Image, kind: str, **how: object) -> bytes:
    out = io.BytesIO()
    picture.save(out, kind, **how)
    return out.getvalue()


@pytest.mark.parametrize("kind", ["GIF", "TIFF", "WEBP"])
def test_of_several_pictures_in_a_file_none_is_taken_for_the_cartoon(kind: str) -> None:
    cells, palette = true_cartoon()
    true, empty = Image.fromarray(palette[cells]), Image.new("RGB", (KNOTS, ROWS), "#222222")
    with pytest.raises(BadPicture, match="several pictures"):
        read_sheet(in_file(empty, kind, save_all=True, append_images=[true]))


def test_greys_of_more_than_eight_bits_stay_as_many_or_are_refused() -> None:
    cells, _palette = true_cartoon(colours=3)
    for kind, steps in (
        (np.uint8, 90),
        (np.uint16, 90),
        (np.uint16, 30_000),
        (np.int32, 90),
        (np.float32, 0.4),
    ):
        data = in_file(Image.fromarray((cells.astype(float) * steps).astype(kind)), "TIFF")
        assert len(read_sheet(data).palette) == 3, (kind, steps)
    for kind, steps in ((np.int32, 10**9), (np.int32, -200), (np.float32, 1e20), (np.float32, np.nan)):
        with pytest.raises(BadPicture, match="finer greys"):
            read_sheet(in_file(Image.fromarray((cells.astype(float) * steps).astype(kind)), "TIFF"))


def test_a_file_that_keeps_colours_roughly_is_not_looked_at_point_by_point() -> None:
    plain, cells_of = Image.new("RGB", (400, 300), (120, 30, 40)), true_cartoon()
    for quality in (10, 50, 80):
        with pytest.raises(BadPicture, match="of one colour"):
            read_sheet(in_file(plain, "WEBP", quality=quality))
    drawn = Image.open(io.BytesIO(enlarged(*cells_of, 6).data))
    jpeg_in_tiff = {"kind": "TIFF", "compression": "jpeg", "quality": 90}
    for how in ({"kind": "WEBP", "quality": 80}, jpeg_in_tiff, {"kind": "JPEG", "quality": 90}):
        assert open_sheet(in_file(drawn, **how)).lossy, how
    lossless = in_file(drawn, "WEBP", lossless=True)
    assert not open_sheet(lossless).lossy
    assert read_sheet(lossless).how is How.ENLARGED
    assert not open_sheet(in_file(drawn, "TIFF")).lossy


def drawn_grid(points: int, thick: int, margin: int, inside: tuple[int, int, int]) -> Image.Image:
    grid = np.full((18 * points + 1, 15 * points + 1, 3), inside, dtype=np.uint8)
    for start in range(thick):
        grid[start::points], grid[:, start::points] = 80, 80
    return Image.fromarray(np.pad(grid, ((margin, margin), (margin, margin), (0, 0)), constant_values=255))


@pytest.mark.parametrize(
    ("points", "thick", "margin", "inside"),
    [
        (10, 1, 0, (255, 255, 255)),
        (16, 2, 0, (255, 255, 255)),
        (7, 1, 20, (255, 255, 255)),
        (9, 1, 3, (90, 200, 90)),
    ],
)
def test_nothing_but_a_drawn_grid_is_refused_like_a_photographed_one(
    points: int, thick: int, margin: int, inside: tuple[int, int, int]
) -> None:
    with pytest.raises(BadPicture, match="all empty"):
        read_sheet(saved(drawn_grid(points, thick, margin, inside)))


def test_a_windowpane_check_of_a_point_a_knot_is_read_where_its_size_is_said() -> None:
    picture = drawn_grid(8, 1, 0, (90, 200, 90))
    reading = read_sheet(saved(picture), wish=Wish(knots=picture.width, rows=picture.height))
    assert reading.cells.shape == (picture.height, picture.width)
    assert len(reading.palette) == 2


@pytest.mark.parametrize("points", [14.0, 9.0])
def test_marks_without_colours_are_refused_with_what_to_do(points: float) -> None:
    rng = np.random.default_rng(1)
    paper = np.full((4, 3), [250, 248, 240], dtype=np.uint8)
    trouble = Trouble(points=points, inside="symbols", jpeg=85, noise=2, tilt_deg=5, supersample=1)
    sheet = put_on_paper(rng, cartoon(rng, ROWS, KNOTS, 4, "bordered"), paper, trouble)
    with pytest.raises(BadPicture, match="have marks but no colours"):
        read_sheet(sheet.data)


@pytest.mark.parametrize("inside", ["flat", "dots"])
def test_a_cartoon_in_greys_has_no_marks(inside: str) -> None:
    cells, _palette = true_cartoon(colours=3)
    greys = np.array([[30, 30, 30], [110, 110, 110], [190, 190, 190]], dtype=np.uint8)
    trouble = Trouble(points=11.0, inside=inside, jpeg=85, noise=3, tilt_deg=5, blur=0.1)
    reading = read_sheet(put_on_paper(np.random.default_rng(1), cells, greys, trouble).data)
    assert len(reading.palette) == 3
    assert not wrong_squares(reading, cells).any()


def test_a_picture_that_unpacks_to_too_many_points_is_refused_unopened() -> None:
    bomb = Image.new("1", (12_000, 12_000))
    with pytest.raises(BadPicture, match="too large"):
        read_sheet(saved(bomb))
    assert limits.MAX_SHEET_PIXELS < 12_000 * 12_000


def test_a_broken_file_is_refused() -> None:
    data = photographed(points=8.0, jpeg=80).data
    with pytest.raises(BadPicture, match=r"broken|No squares"):
        read_sheet(data[: len(data) // 3])
    with pytest.raises(BadPicture, match="not a picture"):
        read_sheet(b"these are no points")


def test_corners_far_outside_the_picture_are_refused_and_one_cut_off_by_its_edge_is_not() -> None:
    data = photographed(points=8.0).data
    width, height = Image.open(io.BytesIO(data)).size
    with pytest.raises(BadEntry, match=f"far outside the picture, which is {width} × {height} pixels"):
        read_sheet(
            data, wish=Wish(corners=((-5 * width, 0), (5 * width, 0), (5 * width, height), (0, height)))
        )
    cut_off = Wish(corners=((-0.1 * width, 0), (width, 0), (width, height), (0, height)), knots=20, rows=20)
    assert read_sheet(data, wish=cut_off).cells.shape == (20, 20)


def test_corners_that_cross_are_refused_with_a_sentence() -> None:
    with pytest.raises(BadEntry, match="do not go round"):
        read_sheet(photographed(points=8.0).data, wish=Wish(corners=((0, 0), (90, 90), (90, 0), (0, 90))))
