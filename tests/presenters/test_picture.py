"""The rug's picture grows from its first row: true colours below, pale above."""

from dataclasses import replace

import numpy as np
import pytest

from tests.presenters.rugs import book, plan, session, yarns
from tests.today import TODAY
from tracker.domain.rug import Cartoon, RugStage
from tracker.forecast.outlook import outlook
from tracker.presenters.home import build_home_state
from tracker.presenters.picture import cell_colours, rug_picture, shown_aspect
from tracker.presenters.record.rug_record import rug_record
from tracker.presenters.zoom import build_zoom_state


def with_cartoon(rows_woven: int):
    cells = np.zeros((200, 100), dtype=np.uint8)
    cells[:, 50:] = 1
    red, blue, weft = yarns()
    return book(
        session(1, rows_woven),
        cartoon=Cartoon(id="c", rug_id="rug", cells=cells, palette=("#111111", "#222222")),
        yarns=(replace(red, cartoon_values=(0,)), replace(blue, cartoon_values=(1,)), weft),
    )


def test_woven_rows_show_the_yarns_own_colours() -> None:
    picture = rug_picture(with_cartoon(60))
    assert picture.shape == (200, 100, 3)
    assert tuple(picture[0, 0]) == (0x9C, 0x2F, 0x25)
    assert tuple(picture[59, 99]) == (0x27, 0x40, 0x6B)


def test_rows_to_come_are_pale_but_still_told_apart() -> None:
    picture = rug_picture(with_cartoon(60), ground="#FFFFFF").astype(int)
    assert picture[60].min() > picture[59].min()
    assert tuple(picture[60, 0]) != tuple(picture[60, 99])
    # 62 % of the way from madder's red channel, 0x9C = 156, to white, 255: 217.
    assert abs(picture[60, 0, 0] - 217) <= 1


def test_a_large_cartoon_is_thinned_for_the_screen() -> None:
    cells = np.zeros((6000, 4000), dtype=np.uint8)
    rug = book(
        session(1, 3000),
        plan=plan(knots_across=4000, rows=6000),
        cartoon=Cartoon(id="c", rug_id="rug", cells=cells, palette=("#111111",)),
    )
    picture = rug_picture(rug)
    assert max(picture.shape) <= 1200
    assert (picture[: picture.shape[0] // 2] == 0x11).all()
    assert (picture[picture.shape[0] // 2 + 1 :] > 0x11).all()


def test_a_longer_side_of_1200_knots_is_drawn_knot_by_knot_and_the_row_begun_too() -> None:
    cells = np.zeros((1200, 10), dtype=np.uint8)
    rug = book(
        session(1, 600, begun_knots=5),
        plan=plan(knots_across=10, rows=1200),
        cartoon=Cartoon(id="c", rug_id="rug", cells=cells, palette=("#111111",)),
    )
    picture = rug_picture(rug)
    assert picture.shape == (1200, 10, 3)
    assert (picture[600, :5] == 0x11).all()
    assert (picture[600, 5:] > 0x11).all()
    # Thinned to every second row: the row begun is one of those drawn, and half of its knots are tied.
    thinned = rug_picture(rug, longest=600)
    assert thinned.shape == (600, 5, 3)
    assert (thinned[299] == 0x11).all()
    assert [bool((knot == 0x11).all()) for knot in thinned[300]] == [True, True, False, False, False]
    # After 601 rows the row begun is one of those left out.
    odd = rug_picture(replace(rug, sessions=(session(1, 601, begun_knots=5),)), longest=600)
    assert (odd[300] == 0x11).all()
    assert (odd[301] > 0x11).all()


def test_a_rug_without_a_knot_is_drawn_as_it_will_be_and_one_begun_with_its_rows_to_come_pale() -> None:
    assert (rug_picture(with_cartoon(200), ground="#FFFFFF")[199, 0] == (0x9C, 0x2F, 0x25)).all()
    whole, bare, begun = (
        rug_picture(with_cartoon(rows), ground="#FFFFFF")[:, 0].tolist() for rows in (200, 0, 1)
    )
    assert bare == whole
    assert (begun[0], begun[1:] == whole[1:]) == (whole[0], False)
    assert min(begun[199]) > min(whole[199])


def test_a_colour_of_the_paper_that_no_yarn_knots_is_shown_as_it_is() -> None:
    red, _blue, weft = yarns()
    rug = replace(
        with_cartoon(60), yarns=(replace(red, cartoon_values=(0, 2, 7)), replace(weft, cartoon_values=(1,)))
    )
    assert cell_colours(rug).tolist() == [[0x9C, 0x2F, 0x25], [0x22, 0x22, 0x22]]


def test_without_a_cartoon_the_bare_rug_grows_from_its_foot() -> None:
    picture = rug_picture(book(session(1, 50), session(2, 50)), ground="#FFFFFF").astype(int)
    height = len(picture)
    woven, ahead = picture[: height // 2], picture[height // 2 :]
    assert woven.max(axis=2).mean() + 60 < ahead.max(axis=2).mean()
    # A rug's small picture on the shelf has whole tufts, too.
    assert max(rug_picture(book(session(1, 50)), longest=200).shape) <= 200


def test_a_finished_rug_is_shown_whole_with_the_rows_that_were_woven() -> None:
    """180 of 200 rows: it was called finished, so no pale rows and no line are in any of its pictures."""
    woven = with_cartoon(180)
    done = replace(woven, plan=replace(woven.plan, stage=RugStage.FINISHED, finished_day=TODAY))
    assert rug_picture(woven).shape[0] == 200
    picture = rug_picture(done)
    assert picture.shape == (180, 100, 3)
    assert (picture == rug_picture(woven)[:180]).all()
    # A row is as high as before: 40 cm wide, 80 x 180 / 200 = 72 cm long.
    assert shown_aspect(woven) == 0.5
    assert shown_aspect(done) == pytest.approx(40 / 72)
    answers = outlook(done, TODAY)
    close, first = build_zoom_state(done, answers), build_home_state(done, answers)
    assert (close.rows, close.row, close.aspect) == (180, 180, shown_aspect(done))
    assert (first.picture_rows, first.rows_woven) == (180, 180)
    assert rug_record(done, answers).woven_share == 1.0
    assert rug_record(woven, outlook(woven, TODAY)).woven_share == pytest.approx(0.9)
    # Finished before a row was entered: the plan's picture.
    bare = replace(done, sessions=())
    assert rug_picture(bare).shape[0] == 200, "not all rows of the plan are drawn"
