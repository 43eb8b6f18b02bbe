"""The words of the copies and of what another phone's file brought."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from tests.presenters.rugs import book, session
from tests.today import TODAY
from tracker.domain.history import Conflict, Copy, Joined, Told, Withdrawal, Writer
from tracker.domain.order import Order
from tracker.domain.rug import Lot, Spoilt
from tracker.presenters.copies import build_copies_state, restored_words, size_words
from tracker.presenters.entry_text import names_of
from tracker.presenters.sync import build_merge_state, conflict_lines, file_name, taken_back_words

NAMES = names_of((book(),))
HERE, THERE = Writer("a", "My phone", True), Writer("b", "Bo's phone", False)


def copy(day: int, reason: str = "daily", size: int = 400_000) -> Copy:
    return Copy(Path(f"/{day}.book"), datetime(2026, 11, day, 12, tzinfo=UTC), day, reason, size)


def test_copies_tell_when_why_how_large_and_what_came_since() -> None:
    words = build_copies_state([(copy(24), 0), (copy(20, "before-update", 1_600_000), 7)], TODAY)
    assert words.headline == "2 copies on this phone"
    assert words.room == "2 MB"
    first, second = words.lines
    assert first.when.startswith("24 November, ")
    assert (first.why, first.size, first.since) == ("the copy of the day", "400 kB", "nothing entered since")
    assert (second.why, second.size, second.since) == (
        "before the app was renewed",
        "1.6 MB",
        "7 entries since",
    )


def test_without_a_readable_book_nothing_is_said_of_since() -> None:
    assert build_copies_state([(copy(24), None)], TODAY).lines[0].since == ""


@pytest.mark.parametrize(("size", "said"), [(10, "1 kB"), (999_000, "999 kB"), (2_340_000, "2.3 MB")])
def test_sizes_are_said_as_people_say_them(size: int, said: str) -> None:
    assert size_words(size) == said


def test_going_back_says_how_much_changed() -> None:
    assert restored_words(0) == "The book was as in this copy already."
    assert restored_words(3).startswith("3 entries are back as in the copy.")


def test_nothing_new_is_said_plainly() -> None:
    words = build_merge_state(Joined(acts=0, records=0, versions=0, devices=(), conflicts=()), NAMES)
    assert words.headline == "Nothing new: all of it was here already."
    assert words.conflicts == ()


def test_a_conflict_tells_both_sides_and_the_rule() -> None:
    conflict = Conflict(
        record_id="s1",
        kind="session",
        rug_id="rug",
        counting=Told(THERE, session(1, 6)),
        set_aside=(Told(HERE, session(1, 7)),),
    )
    words = build_merge_state(
        Joined(acts=3, records=1, versions=3, devices=("Bo's phone",), conflicts=(conflict,)), NAMES
    )
    assert words.headline == "3 new entries."
    assert words.from_whom == "From Bo's phone"
    (line,) = words.conflicts
    assert line.counting == "+6 rows, 3 h (Bo's phone)"
    assert line.aside == "set aside: +7 rows, 3 h (this phone)"
    assert line.lines == ("Rows: +7 → +6",)
    assert "entered last counts" in words.rule


def test_a_file_of_nobody_s_phone_names_none() -> None:
    words = build_merge_state(Joined(acts=1, records=1, versions=1, devices=(), conflicts=()), NAMES)
    assert (words.headline, words.from_whom, words.rule, words.withdrawn_rule) == ("1 new entry.", "", "", "")
    own = build_merge_state(
        Joined(acts=2, records=1, versions=1, devices=(), conflicts=(), own_acts=1), NAMES
    )
    assert own.from_whom == "1 entry is this phone's own and was missing from its book."
    both = Joined(acts=2, records=1, versions=1, devices=("Bo's phone", "A tablet"), conflicts=(), own_acts=2)
    assert build_merge_state(both, NAMES).from_whom == (
        "From Bo's phone and A tablet. 2 entries are this phone's own and were missing from its book."
    )


def test_two_answers_to_one_weighing_are_named_and_no_fields_of_one_set_against_the_other() -> None:
    day = date(2026, 11, 20)
    lost = Spoilt(id="l", rug_id="rug", yarn_id="red", day=day, mass_g=150.0)
    light = Lot(id="lot", rug_id="rug", yarn_id="red", day=day, mass_g=850.0)
    (line,) = conflict_lines(
        (Conflict("lot", "lot", "rug", counting=Told(THERE, light), set_aside=(Told(HERE, lost),)),), NAMES
    )
    assert line.counting.endswith("(Bo's phone)")
    assert "850 g" in line.counting
    assert line.aside.startswith("set aside: ")
    assert "150 g" in line.aside
    assert line.lines == ()


def test_a_conflict_of_orders_says_neither_name_nor_price() -> None:
    order = Order(id="o", rug_id="rug", customer="The inn", price=2400.0)
    conflict = Conflict(
        record_id="o",
        kind="rug_order",
        rug_id="rug",
        counting=Told(THERE, replace(order, price=2500.0)),
        set_aside=(Told(HERE, order),),
    )
    (line,) = conflict_lines((conflict,), NAMES)
    assert line.counting == "Customer's order (Bo's phone)"
    assert line.lines == ()


def test_a_withdrawal_that_won_still_names_what_it_withdrew() -> None:
    conflict = Conflict(
        record_id="s1",
        kind="session",
        rug_id="rug",
        counting=Told(HERE, None),
        set_aside=(Told(THERE, session(1, 7)),),
    )
    (line,) = build_merge_state(
        Joined(acts=1, records=0, versions=1, devices=(), conflicts=(conflict,)), NAMES
    ).conflicts
    assert line.counting == "deleted: +7 rows, 3 h (this phone)"
    assert line.lines == ()


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("Ann's phone", "Ann-s-phone-2026-11-25.loomside-exchange"),
        ("../../etc", "etc-2026-11-25.loomside-exchange"),
        ("نول", "loomside-2026-11-25.loomside-exchange"),
        ("", "loomside-2026-11-25.loomside-exchange"),
    ],
)
def test_a_files_name_is_safe_on_every_phone(name: str, said: str) -> None:
    assert file_name(name, date(2026, 11, 25)) == said


def test_what_a_file_withdrew_is_told_by_name_rugs_first() -> None:
    rug = book().plan
    words = build_merge_state(
        Joined(
            acts=2,
            records=0,
            versions=2,
            devices=("Bo's phone",),
            conflicts=(),
            withdrawn=(
                Withdrawal("s1", "session", rug.id, THERE, session(1, 7)),
                Withdrawal(rug.id, "rug_plan", rug.id, THERE, rug),
            ),
            own_acts=1,
            act_ids=("a1", "a2"),
        ),
        NAMES,
    )
    assert [line.counting for line in words.withdrawn] == [
        f"deleted: Plan: {rug.name}",
        "deleted: Session: +7 rows, 3 h",
    ]
    assert {line.aside for line in words.withdrawn} == {"Bo's phone"}
    assert words.withdrawn_rule.startswith("2 entries of this book were deleted by it.")
    assert words.from_whom == "From Bo's phone. 1 entry is this phone's own and was missing from its book."


def test_taking_a_join_back_says_what_stays() -> None:
    assert (
        taken_back_words(3, 1)
        == "3 entries are as before the file came. 1 entry was changed since and stays."
    )
    assert taken_back_words(0, 2) == "There is nothing left to undo."
