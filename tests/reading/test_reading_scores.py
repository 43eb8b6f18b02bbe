"""The reader's score on pictures nobody looked at: seeds of the day, held to floors two to three standard errors under what DEVELOPERS.md reports."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from tests.bench.bench_reading import score
from tests.reading.on_paper import SCORED_KINDS, sheet_of

LEAST_ALONE, LEAST_TOLD, LEAST_COLOURS = 0.79, 0.96, 0.75
"""Shares of pictures. Seen: 1, 1 and 0.93, 0.89 twice, before 0.86 to 0.93, 1 and 0.82 to 0.93; with two pictures of each kind one standard error is 0.05 to 0.07."""


@pytest.mark.slow
@pytest.mark.timeout(1800)
def test_fresh_pictures_of_every_kind_are_read_as_well_as_told() -> None:
    day = datetime.now(UTC).toordinal()
    seeds = (10 * day, 10 * day + 1)
    scores = [score(sheet_of(seed, kind)) for kind in SCORED_KINDS for seed in seeds]
    told = "\n".join(str(one) for one in scores)
    assert np.mean([one.size_alone for one in scores]) >= LEAST_ALONE, told
    assert np.mean([one.size_told for one in scores]) >= LEAST_TOLD, told
    assert np.mean([one.colours_right for one in scores]) >= LEAST_COLOURS, told
    assert not [one for one in scores if one.sure and not one.size_alone], told
    assert max(one.doubted for one in scores) <= 0.0201, told
    assert np.median([one.wrong for one in scores]) <= 0.0005, told
