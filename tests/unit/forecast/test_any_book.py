"""Whatever a book holds, the answers come, are ordered, and are the same again."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from tests.properties import examples
from tracker.domain.rug import (
    Cartoon,
    DaysOff,
    Hold,
    Lot,
    Measurement,
    RugBook,
    RugStage,
    Sample,
    Session,
    Spoilt,
    Weighing,
)
from tracker.forecast.answers import YarnWord
from tracker.forecast.outlook import outlook

from .books import BLUE, PLAN, RED, START, WEFT

days = st.integers(-10, 400).map(lambda d: START + timedelta(days=d))
masses = st.floats(0, 5000).map(lambda m: round(m, 1))
names = st.sampled_from(["red", "blue", "weft", "nobody's"])


@st.composite
def books(draw: st.DrawFn) -> RugBook:
    """Draw a book, likely and unlikely ones."""
    rows, across = draw(st.integers(1, 60)), draw(st.integers(1, 40))
    plan = replace(
        PLAN, rows=rows, knots_across=across, hold=draw(st.sampled_from(Hold)),
        stage=draw(st.sampled_from([RugStage.PLANNED, RugStage.ON_LOOM, RugStage.ON_LOOM, RugStage.FINISHED])),
        weekdays=tuple(sorted(draw(st.sets(st.integers(0, 6))))), hours_per_week=draw(st.floats(0, 90)),
        knots_per_hour=draw(st.none() | st.floats(5, 3000)), wished_day=draw(st.none() | days),
        weavers_planned=draw(st.integers(0, 5)),
    )  # fmt: skip
    cartoon = None
    if draw(st.booleans()):
        size = (draw(st.sampled_from([rows, rows + 3])), across)
        cells = np.random.default_rng(draw(st.integers(0, 99))).integers(0, 3, size).astype(np.uint8)
        cartoon = Cartoon(id="c", rug_id="r", cells=cells, palette=("#a", "#b", "#c"))
    sessions = draw(
        st.lists(
            st.builds(
                Session, id=st.uuids().map(str), rug_id=st.just("r"), day=days, rows=st.integers(-8, 12),
                hours=st.none() | st.floats(0, 24), weavers=st.sampled_from([(), ("a",), ("a", "b")]),
                used=st.lists(st.tuples(names, st.floats(0.01, 4)), max_size=2).map(tuple), born=st.integers(0, 999),
            ),
            max_size=12,
        )
    )  # fmt: skip
    common = {"id": st.uuids().map(str), "rug_id": st.just("r"), "day": days, "born": st.integers(0, 999)}
    some = {**common, "yarn_id": names, "mass_g": masses}

    def few(kind: type, **fields: st.SearchStrategy) -> tuple:
        return tuple(
            sorted(draw(st.lists(st.builds(kind, **fields), max_size=3)), key=lambda x: (x.day, x.born))
        )

    return RugBook(
        plan=plan, cartoon=cartoon, yarns=draw(st.sampled_from([(), (RED,), (RED, BLUE, WEFT)])),
        sessions=tuple(sorted(sessions, key=lambda s: (s.day, s.born))),
        lots=few(Lot, **some), weighings=few(Weighing, **some), spoilt=few(Spoilt, **some),
        samples=few(Sample, **some, knots=st.integers(0, 500)),
        measurements=few(Measurement, **common, row=st.integers(0, 80), length_cm=st.floats(0, 60)),
        days_off=draw(
            st.sampled_from([(), (DaysOff(id="o", rug_id=None, first_day=START, last_day=date(2026, 2, 1)),)])
        ),
    )  # fmt: skip


@examples(12, suppress_health_check=[HealthCheck.too_slow])
@given(book=books(), today=days)
def test_any_book_gets_ordered_answers_and_the_same_ones_again(book: RugBook, today: date):
    answers = outlook(book, today)
    assert answers == outlook(book, today)
    if answers.finish is not None:
        assert answers.finish.early <= answers.finish.middle <= answers.finish.late
        assert answers.finish.middle >= today
        assert answers.finish.hours_left > 0
    else:
        assert answers.finished or answers.silent_days is not None
    assert len(answers.yarns) == sum(yarn.role.value in ("pile", "weft") for yarn in book.yarns)
    for yarn in answers.yarns:
        assert 0.0 <= yarn.chance <= 1.0
        assert 0.0 <= yarn.on_hand_low_g <= yarn.on_hand_g <= yarn.on_hand_high_g
        assert 0.0 <= yarn.needed_low_g <= yarn.needed_g <= yarn.needed_high_g
        assert np.isfinite([yarn.needed_high_g, yarn.on_hand_high_g, yarn.order_g]).all()
        if yarn.word is YarnWord.DONE:
            assert yarn.needed_g == 0.0
        if yarn.runs_out_row_range is not None:
            low, high = yarn.runs_out_row_range
            assert yarn.runs_out_row is not None
            assert low <= yarn.runs_out_row <= high <= answers.where.rows
