"""Load: what the app does at a touch takes no more than twice as long in a book of 50 rugs as in one of one rug."""

from __future__ import annotations

import pytest

from storage import reading
from storage.book import Book
from tests.bench.bench_storage import RECORDS, SESSIONS, fill, growth


def plans_of(path):
    """Return the query plans of everything that is read for one rug."""
    from storage.convert import KIND_NAMES, kind_named

    plans = {}
    with Book.open(path) as book, book.reading() as connection:
        for name in KIND_NAMES:
            for column in ("rug_id", "record_id", "act_id"):
                rows = connection.exec_driver_sql(
                    f'EXPLAIN QUERY PLAN SELECT * FROM "{kind_named(name).name}" WHERE {column} = ?', ("x",)
                )
                plans[name, column] = " ".join(row[3] for row in rows)
        rows = connection.exec_driver_sql("EXPLAIN QUERY PLAN SELECT max(clock) FROM act")
        plans["act", "clock"] = " ".join(row[3] for row in rows)
        for where in ("", "WHERE rug_id = 'x'"):
            rows = connection.exec_driver_sql(
                f"EXPLAIN QUERY PLAN SELECT * FROM act {where} ORDER BY clock DESC LIMIT 50"
            )
            plans["diary", where] = " ".join(row[3] for row in rows)
    return plans


def test_nothing_at_a_touch_reads_the_whole_book(open_book):
    """Twice the time cannot be measured on a busy machine in a short run; that every query has its index can."""
    book = open_book()
    book.close()
    for what, plan in plans_of(book.path).items():
        assert "USING INDEX" in plan or "USING COVERING INDEX" in plan, (what, plan)
        assert "TEMP B-TREE" not in plan, (what, plan)


@pytest.mark.slow
@pytest.mark.timeout(1800)
def test_fifty_rugs_take_no_more_than_twice_the_time_of_one(tmp_path, capsys):
    small, large, ratio = growth(tmp_path, 50, 25)
    with capsys.disabled():
        print()
        for what in small:
            print(f"{what:32}{small[what] * 1000:9.2f} ms{large[what] * 1000:9.2f} ms{ratio[what]:7.2f}")
    with Book.open(tmp_path / "50.loomside") as book:
        assert len(reading.rugs(book)) == 50
        assert SESSIONS * 50 == 20_000
        assert RECORDS * 50 == 300_000
    assert {what: round(times, 2) for what, times in ratio.items() if times > 2.0} == {}


def test_the_load_is_what_it_says(open_book):
    book = open_book()
    fill(book, 1)
    (rug,) = reading.rugs(book)
    told = reading.rug_book(book, rug.id)
    assert len(told.sessions) == 400
    parts = (
        told.yarns,
        told.sessions,
        told.lots,
        told.weighings,
        told.spoilt,
        told.measurements,
        told.photos,
    )
    assert 1 + sum(map(len, parts)) == 6000
    book.check()
