"""The rug's picture grows from its first row: true colours below, pale above."""

import numpy as np

from tests.presenters.rugs import book, plan, session, yarns
from tracker.domain.rug import Cartoon
from tracker.presenters.picture import rug_picture


def with_cartoon(rows_woven: int):
    cells = np.zeros((200, 100), dtype=np.uint8)
    cells[:, 50:] = 1
    red, blue, weft = yarns()
    from dataclasses import replace

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
    # 80 % of the way from madder's red channel, 0x9C = 156, to white, 255: 235.
    assert abs(picture[60, 0, 0] - 235) <= 1


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


def test_without_a_cartoon_the_bare_rug_grows_row_by_row() -> None:
    picture = rug_picture(book(session(1, 10), session(2, 5)), ground="#FFFFFF").astype(int)
    assert picture.shape[0] == 200
    assert picture[9, 0, 0] != picture[10, 0, 0]
    assert picture[15, 0, 0] > picture[14, 0, 0]
