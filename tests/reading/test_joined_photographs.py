"""A long cartoon from several photographs, from the first reading to the whole."""

from __future__ import annotations

import numpy as np

from tests.reading.on_paper import Trouble, cartoon, framed, put_on_paper, yarns
from tracker.pictures.joining import join
from tracker.pictures.paper.reading import read_sheet


def test_two_photographs_of_a_long_cartoon_are_read_and_joined() -> None:
    rng = np.random.default_rng(12)
    truth = framed(cartoon(rng, 84, 40, 4, "patches"))
    palette = yarns(rng, 4)
    readings = []
    for cut, trouble in (
        (
            truth[:48],
            Trouble(points=8.0, tilt_deg=7, turn_deg=3, table=True, jpeg=88, falloff=0.3, supersample=1),
        ),
        (truth[40:], Trouble(points=9.0, tilt_deg=5, turn_deg=-4, table=True, jpeg=85, supersample=1)),
    ):
        readings.append(read_sheet(put_on_paper(rng, cut, palette, trouble).data))
    joined = join(readings[0], readings[1])
    assert joined.cells.shape == truth.shape
    pairs = np.zeros((len(joined.palette), 4), dtype=int)
    np.add.at(pairs, (joined.cells, truth), 1)
    assert (pairs.argmax(axis=1)[joined.cells] == truth).mean() > 0.998
