"""Since when the present way has held, by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tracker.forecast.changepoints import run_weights


def table_of(blocks: int, log_marginal) -> np.ndarray:
    """The log marginal likelihood of every stretch of blocks."""
    table = np.zeros((blocks, blocks + 1))
    for start in range(blocks):
        for end in range(start + 1, blocks + 1):
            table[start, end] = log_marginal(start, end)
    return table


def test_where_every_way_explains_the_record_alike_only_the_chance_of_a_change_counts():
    told = run_weights(table_of(3, lambda start, end: -2.0 * (end - start)), 0.1)
    assert told == pytest.approx([0.81, 0.09, 0.1])
    assert run_weights(table_of(1, lambda start, end: -1.0), 0.3).tolist() == [1.0]


def test_a_block_that_the_old_way_hardly_explains_began_a_new_one():
    # The last two of four blocks are e^3 times likelier as a way of their own than as the old one's going on.
    def said(start: int, end: int) -> float:
        return -3.0 * max(end - max(start, 2), 0) * (start < 2)

    told = run_weights(table_of(4, said), 0.1)
    by_hand = np.array([
        0.9**3 * math.exp(-6), 0.1 * 0.9**2 * math.exp(-6), 0.1 * 0.9, 0.1 * (0.9**0 * math.exp(-3) * 0.9 + 0.1)
    ])  # fmt: skip
    assert told.argmax() == 2
    # Against going on, the new way has the record's whole word: e^6 for the hazard's one in ten.
    assert told[2] / (told[0] + told[1]) == pytest.approx(by_hand[2] / (by_hand[0] + by_hand[1]), rel=1e-9)
    assert told.sum() == pytest.approx(1.0)


def test_a_block_that_nothing_explains_changes_no_chance():
    impossible = -1e9
    table = table_of(3, lambda start, end: impossible if start < 2 <= end - 1 else 0.0)
    table[:2, 2] = impossible
    table[:2, 3] = impossible
    assert run_weights(table, 0.1) == pytest.approx([0.81, 0.09, 0.1])
    # Where even the last one is explained by none, each beginning is as likely as the other.
    only_last = table_of(4, lambda start, end: impossible if end == 4 else 0.0)
    assert run_weights(only_last, 0.1).tolist() == [0.25] * 4
