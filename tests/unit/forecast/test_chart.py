"""A cartoon is counted once, by the one counter, without a second copy of it."""

from __future__ import annotations

import tracemalloc

import numpy as np

from tracker.domain.cartoon import count_of
from tracker.domain.rug import Cartoon


def cartoon_of(cells: np.ndarray) -> Cartoon:
    return Cartoon(id="c", rug_id="r", cells=cells, palette=("#aa0000", "#00aa00", "#0000aa"))


def test_counts_are_those_of_the_rows():
    counts = count_of(cartoon_of(np.array([[0, 0, 1, 1], [2, 1, 2, 1]], dtype=np.uint8)))
    assert counts.changes.tolist() == [1, 3]
    assert counts.per_row.tolist() == [[2, 2, 0], [0, 2, 2]]


def test_counting_a_large_cartoon_takes_less_memory_than_the_cartoon():
    cells = np.random.default_rng(1).integers(0, 3, (2000, 1500), dtype=np.uint8)
    cartoon = cartoon_of(cells)
    tracemalloc.start()
    count_of(cartoon)
    _now, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 0.7 * cells.nbytes
