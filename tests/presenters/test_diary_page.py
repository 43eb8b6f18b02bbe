"""The diary's lines, details and history say what was done, by whom, when, and what was there before."""

from __future__ import annotations

import time
from dataclasses import astuple, replace
from datetime import UTC, date, datetime
from types import SimpleNamespace

import numpy as np
import pytest

from storage import diary, history
from storage.book import Book
from tests.presenters.rugs import book, plan, session, yarns
from tests.today import TODAY
from tracker.domain.act import ActKind
from tracker.domain.history import Change, Since
from tracker.domain.order import Order, Payment, PaymentKind
from tracker.domain.rug import (
    AfterStep,
    Cartoon,
    DaysOff,
    Lot,
    Photo,
    Preparation,
    PreparationKind,
    RugStage,
    Setting,
    Spoilt,
    Weaver,
    Weighing,
)
from tracker.presenters.acts import deed_words, filter_of, filters, icon_of
from tracker.presenters.diary import NO_LINE, diary_lines, entry_detail
from tracker.presenters.entry_details import details
from tracker.presenters.entry_text import headline, names_of
from tracker.presenters.entry_versions import differences, history_lines, mended_words

NAMES = names_of((book(),))


class Clock:
    """Noon of one day after another."""

    def __init__(self) -> None:
        self.day = 1

    def __call__(self) -> datetime:
        return datetime(2026, 11, self.day, 12, tzinfo=UTC)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def filled(tmp_path, clock):
    """A book in which a session was entered wrong, corrected, withdrawn, and the withdrawal taken back."""
    with Book.open(tmp_path / "b", now=clock) as opened:
        with opened.act("rug planned", rug_id="rug") as act:
            act.write(plan())
            for yarn in yarns():
                act.write(yarn)
            act.write(Weaver(id="ann", name="Ann"))
        clock.day = 3
        with opened.act("session logged") as act:
            act.write(session(1, 51, day=date(2026, 11, 3), used=(("red", 1.0),)))
        clock.day = 4
        with opened.act("session corrected") as act:
            act.write(session(1, 5, day=date(2026, 11, 3), used=(("red", 1.0),)))
        clock.day = 5
        with opened.act("session withdrawn") as act:
            act.withdraw("s1")
            gone = act.act_id
        clock.day = 6
        opened.undo(gone)
        yield opened


def test_each_act_is_a_line_with_its_day_once(filled) -> None:
    lines = diary_lines(diary.entries(filled), NAMES, TODAY)
    assert [(line.day, line.month) for line in lines] == [
        ("6", "Nov"), ("5", "Nov"), ("4", "Nov"), ("3", "Nov"), ("1", "Nov"),
    ]  # fmt: skip
    assert lines[-1].head == "Little field"
    assert (lines[3].head, lines[3].tag) == ("+5 rows, 3 h, 1 ball of Madder", "corrected")
    assert lines[2].more.startswith("for 3 Nov · Corrected · Rows: +5, was +51")
    assert lines[0].icon == "undo"
    # Two acts of one day: the day is said once.
    twice = diary_lines(diary.entries(filled)[:2], NAMES, TODAY, diary.entries(filled)[0])
    assert twice[0].day == ""


def test_a_session_that_was_put_right_since_says_so_until_the_correction_is_undone(tmp_path, clock) -> None:
    def seconds() -> list[str]:
        return [
            line.more.removesuffix(" · 12:00") for line in diary_lines(diary.entries(opened), NAMES, TODAY)
        ]

    with Book.open(tmp_path / "b", now=clock) as opened:
        with opened.act("rug planned", rug_id="rug") as act:
            act.write(plan())
        with opened.act("session logged") as act:
            act.write(session(1, 13, day=date(2026, 11, 1)))
        assert seconds()[0].startswith("Session")
        with opened.act("session corrected") as act:
            act.write(session(1, 8, day=date(2026, 11, 1)))
            slip = act.act_id
        corrected, logged, _planned = seconds()
        assert corrected.startswith("Corrected · Rows: +8, was +13")
        assert logged.startswith("Session")
        opened.undo(slip)
        # Its 13 rows stand again, and the undone correction is told as undone already.
        assert not any(line.tag == "corrected" for line in diary_lines(diary.entries(opened), NAMES, TODAY))
        with opened.act("session withdrawn") as act:
            act.withdraw("s1")
        assert [line.split(" · ")[0] for line in seconds()][-2] == "deleted since"
        # The session is struck where it was entered; its deletion is told in a line of its own, which stands.
        lines = diary_lines(diary.entries(opened), NAMES, TODAY)
        assert [line.struck for line in lines][-2:] == [True, False]
        assert (lines[0].head, lines[0].struck) == ("Session deleted", False)
        assert "+13 rows" in lines[0].more
        # A plan changes all the time; what it was is no mistake.
        with opened.act("plan changed") as act:
            act.write(plan(name="Another"))
        assert not any("since" in line for line in (seconds()[0], seconds()[-1]))


def test_a_session_that_was_put_right_is_one_line_as_it_counts_and_says_that_it_was(filled) -> None:
    """It stood as two lines, and read down the diary its rows counted twice."""
    for kinds in (filter_of("sessions").kinds, None):
        acts = diary.entries(filled, kinds=kinds, mended_in_place=True)
        told = diary_lines(acts, NAMES, TODAY)
        (line,) = (line for line in told if line.icon == "row" and not line.struck)
        assert (line.head, line.tag, line.day) == ("+5 rows, 3 h, 1 ball of Madder", "corrected", "3")
        assert line.more == "Session · 12:00"
        assert diary.count(filled, kinds=kinds, mended_in_place=True) == len(acts)
    # Who looks for corrections finds it, the new value first; its sheet has both.
    (mended,) = (
        line
        for line in diary_lines(diary.entries(filled, kinds=filter_of("mended").kinds), NAMES, TODAY)
        if line.more.startswith("for 3 Nov · Corrected")
    )
    assert "Rows: +5, was +51" in mended.more


def test_what_is_of_the_whole_book_stands_under_no_rug_and_no_rug_is_named_twice() -> None:
    two = names_of((book(), book(plan=plan(id="other", name="Other"))))
    setting = entry(change(None, Setting(id="length unit", value="inch"), "x"), kind="setting changed")
    finished = entry(change(plan(), plan(stage=RugStage.FINISHED), "rug"), kind="rug finished")
    woven = entry(change(None, session(1, 5)), kind="session logged")
    said = [f"{line.head} · {line.more}" for line in diary_lines([setting, finished, woven], two, TODAY)]
    assert [one.count("Little field") for one in said] == [0, 1, 1]


def test_the_session_that_puts_a_rug_on_the_loom_is_told_as_a_session(tmp_path, clock) -> None:
    with Book.open(tmp_path / "b", now=clock) as opened:
        planned = replace(plan(), stage=RugStage.PLANNED)
        with opened.act("rug planned", rug_id="rug") as act:
            act.write(planned)
        clock.day = 4
        with opened.act("session logged") as act:
            # The plan is written first here, as an act may hold its entries in any order.
            act.write(replace(planned, stage=RugStage.ON_LOOM))
            act.write(session(1, 14, day=date(2026, 11, 3)))
        line, first = diary_lines(diary.entries(opened), NAMES, TODAY)
        assert line.head == "+14 rows, 3 h"
        assert line.more.startswith("for 3 Nov · Session")
        assert first.head == "Little field"
        detail = entry_detail(diary.entries(opened)[0], NAMES, TODAY)
        assert [change.head for change in detail.changes] == ["+14 rows, 3 h", "Little field"]


def test_what_was_withdrawn_is_struck_until_it_is_taken_back(filled) -> None:
    withdrawal = diary_lines(diary.entries(filled), NAMES, TODAY)[1]
    assert withdrawal.struck
    assert withdrawal.tag == "undone"


def test_the_history_tells_both_figures_and_who_wrote_them(filled) -> None:
    lines = history_lines(history.versions_of(filled, "s1"), NAMES, TODAY)
    assert [line.deed for line in lines] == ["Restored", "Deleted", "Corrected", "Entered"]
    assert lines[2].lines == ("Rows: +51 → +5",)
    assert "4 November" in lines[2].who_when
    assert "this phone" in lines[2].who_when
    assert [line.current for line in lines] == [True, False, False, False]


def test_an_act_in_full_offers_what_makes_sense(filled) -> None:
    undo, withdrawn, corrected, logged, planned = (
        entry_detail(e, NAMES, TODAY) for e in diary.entries(filled)
    )
    assert undo.undo_now == "Do it again"
    assert withdrawn.undo_now == ""
    # Later acts stand above these: taking them back would change nothing.
    assert corrected.undo_now == ""
    assert logged.undo_now == ""
    assert planned.undo_now == "Undo it all"
    assert len(planned.changes) == 5
    assert corrected.changes[0].lines == ("Rows: +51 → +5",)


def test_an_entry_for_another_day_says_which(tmp_path, clock) -> None:
    clock.day = 20
    with Book.open(tmp_path / "b", now=clock) as opened:
        with opened.act("session logged") as act:
            act.write(session(1, 5, day=date(2026, 11, 12)))
        (line,) = diary_lines(diary.entries(opened), NAMES, TODAY)
    assert line.more.startswith("for 12 Nov · "), "never cut where the line is too long"


def test_the_rug_is_named_only_where_there_are_several(filled) -> None:
    two = names_of((book(), book(plan=plan(id="other", name="Other"))))
    entry = diary.entries(filled, kinds=("session logged",))
    assert "Little field" not in diary_lines(entry, NAMES, TODAY)[0].more
    assert "Little field" in diary_lines(entry, two, TODAY)[0].more


SAID = [
    (session(1, -2, None), "2 rows unpicked"),
    (session(1, 0, None, used=(("weft", 2.0),)), "2 shuttles of Ground weft"),
    (session(1, 1, 0.5), "+1 row, 30 min"),
    (
        Lot(id="l", rug_id="rug", yarn_id="red", day=TODAY, mass_g=1250, dye_lot="M-1"),
        "1.25 kg of Madder, dye lot M-1",
    ),
    (
        Weighing(id="w", rug_id="rug", yarn_id="gone", day=TODAY, mass_g=40),
        "40 g of a yarn no longer in the plan left",
    ),
    (DaysOff(id="d", rug_id=None, first_day=TODAY, last_day=TODAY, reason="market"), "25 Nov: market"),
    (Preparation(id="p", rug_id="rug", day=TODAY, kind=PreparationKind.WARP), "Warp mounted"),
    (Photo(id="f", rug_id="rug", day=TODAY, file_name="f.jpg"), "A picture of the rug"),
]


@pytest.mark.parametrize(("value", "said"), SAID, ids=lambda one: one if isinstance(one, str) else "")
def test_every_kind_of_entry_has_its_headline(value, said) -> None:
    assert headline(value, NAMES) == said


def test_details_leave_out_what_is_empty_and_differences_what_is_equal() -> None:
    first = session(1, 5, None)
    labels = dict(details(first, NAMES))
    assert labels["Hours"] == "not given"
    assert "Note" not in labels
    changed = differences(first, replace(first, note="corner", weavers=("ann", "bo")), NAMES)
    assert [(one.label, one.before, one.after) for one in changed] == [
        ("Who wove", "Ann", "Ann and Bo"),
        ("Note", "", "corner"),
    ]
    assert changed[1].words == "Note: corner"
    assert differences(None, first, NAMES) == ()


def test_a_line_that_was_not_read_yet_shows_nothing() -> None:
    assert not any(astuple(NO_LINE))


def entry(*changes: SimpleNamespace, **told) -> SimpleNamespace:
    """An act as the book's diary hands it out."""
    usual = {
        "act_id": "act", "kind": "session corrected", "made_at": datetime(2026, 11, 24, 12, tzinfo=UTC), "rug_id": "rug",
        "device": SimpleNamespace(here=True, name="Ann's phone"), "undoes_id": None, "undone": False, "undoable": True,
        "undone_by": "",
    }  # fmt: skip
    return SimpleNamespace(changes=changes, **{**usual, **told})


def change(before: object, after: object, record_id: str = "s1") -> SimpleNamespace:
    return Change(record_id, "", before, after, current=True, since=Since.STANDS)


@pytest.mark.parametrize("zone", ["Asia/Tokyo", "America/New_York", "UTC"])
def test_an_act_at_an_end_of_the_calendar_is_told_in_every_time_zone(
    zone: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another phone's file may tell any instant: east of Greenwich the diary of such a book could not be opened."""
    ends = datetime.max.replace(tzinfo=UTC), datetime.min.replace(tzinfo=UTC)
    acts = [entry(made_at=end) for end in ends]
    try:
        monkeypatch.setenv("TZ", zone)
        time.tzset()
        late, early = diary_lines(acts, NAMES, TODAY)
        told = [entry_detail(act, NAMES, TODAY).who_when for act in acts]
    finally:
        monkeypatch.undo()
        time.tzset()
    assert [late.month, early.month] == ["9999", "1"]
    assert "31 December 9999" in told[0]
    assert "1 January 1," in told[1]


def test_an_act_of_several_entries_names_the_first_and_counts_the_others() -> None:
    lots = [Lot(id=f"l{at}", rug_id="rug", yarn_id="red", day=TODAY, mass_g=500) for at in range(3)]
    three = entry(
        *(change(None, lot, lot.id) for lot in lots),
        kind="purchase",
        made_at=datetime(2025, 3, 4, 12, tzinfo=UTC),
    )
    (line,) = diary_lines([three], NAMES, TODAY)
    assert (line.head, line.day, line.month, line.struck, line.tag, line.photo) == (
        "500 g of Madder, and 2 more", "4 Mar", "2025", False, "", "",
    )  # fmt: skip
    assert line.act_id == "act"
    # What changed of several alike is named: "Red, and 4 more" alone does not say it.
    finer = entry(*(change(lot, replace(lot, mass_g=400), lot.id) for lot in lots), kind="plan changed")
    (line,) = diary_lines([finer], NAMES, TODAY)
    assert line.more.split(" · ")[1:3] == ["Weight", deed_words("plan changed")]
    # A plan that changes with a session is not counted.
    (line,) = diary_lines([entry(change(None, plan()), change(None, session(1, 5)))], NAMES, TODAY)
    assert line.head == "+5 rows, 3 h"
    empty = entry(change(None, None), kind="photo kept")
    (line,) = diary_lines([empty], NAMES, TODAY)
    assert line.head == deed_words("photo kept")
    assert entry_detail(empty, NAMES, TODAY).changes == ()


def test_an_evening_that_put_its_rug_on_the_loom_opens_as_that_evening() -> None:
    first, stage = change(None, session(1, 5)), change(plan(), plan(name="Garden"), "rug")
    assert entry_detail(entry(stage, first), NAMES, TODAY).main == "s1"
    assert entry_detail(entry(first), NAMES, TODAY).main == "s1"
    # Of several of one rank none opens before it is chosen.
    assert entry_detail(entry(first, change(None, session(2, 5))), NAMES, TODAY).main == ""
    assert entry_detail(entry(change(None, None)), NAMES, TODAY).main == ""


def test_another_phone_is_named_with_what_it_did() -> None:
    away = SimpleNamespace(here=False, name="Bo's phone")
    (line,) = diary_lines([entry(change(None, session(1, 5)), device=away)], NAMES, TODAY)
    assert " · Bo's phone · " in line.more
    (here,) = diary_lines([entry(change(None, session(1, 5)))], NAMES, TODAY)
    assert "phone" not in here.more
    unnamed = SimpleNamespace(here=False, name="")
    (line,) = diary_lines([entry(change(None, session(1, 5)), device=unnamed)], NAMES, TODAY)
    assert line.more.count(" · ") == here.more.count(" · ")
    assert entry_detail(entry(device=away), NAMES, TODAY).who_when.endswith(" on Bo's phone")
    assert entry_detail(entry(device=unnamed), NAMES, TODAY).who_when.endswith(" on another phone")


def test_what_can_be_taken_back_says_what_it_was() -> None:
    before, after = session(1, 51), session(1, 5)

    def key(*changes: SimpleNamespace, **told) -> str:
        return entry_detail(entry(*changes, **told), NAMES, TODAY).undo_now

    assert key(change(before, after)) == "Undo this correction"
    assert key(change(None, after)) == key(change(before, None)) == ""
    assert key(change(before, after), change(None, after)) == "Undo it all"
    assert key(change(before, after), undoes_id="x") == "Do it again"
    assert key(change(before, after), undone=True) == key(change(before, after), undoable=False) == ""
    # What was undone is done again by its own line; what was entered alone comes back by the key that restores it.
    assert key(change(before, after), undone=True, undone_by="u") == "Do it again"
    assert entry_detail(entry(change(before, after), undone=True, undone_by="u"), NAMES, TODAY).undoes == "u"
    assert key(change(None, after), undone=True, undone_by="u") == ""
    detail = entry_detail(entry(change(before, None), undone=True), NAMES, TODAY)
    assert (detail.act_id, detail.rug_id, detail.undone, detail.undoable) == ("act", "rug", True, True)
    (gone,) = detail.changes
    assert (gone.record_id, gone.head, gone.lines, gone.struck) == ("s1", "+51 rows, 3 h", (), True)


@pytest.mark.parametrize(
    ("kind", "changes", "icon"),
    [
        (
            ActKind.ENTRY_CORRECTED,
            (Weighing(id="w", rug_id="rug", yarn_id="red", day=TODAY, mass_g=40),),
            "weigh",
        ),
        (ActKind.ENTRY_WITHDRAWN, (session(1, 5), plan()), "rug"),
        (ActKind.ENTRY_RESTORED, (), icon_of(ActKind.ENTRY_RESTORED) or "info"),
        ("yarn dyed anew", (session(1, 5),), "row"),
        ("yarn dyed anew", (), "info"),
        (ActKind.SESSION_LOGGED, (session(1, 5), plan()), icon_of(ActKind.SESSION_LOGGED)),
    ],
)
def test_an_act_of_any_entry_bears_the_icon_of_that_entry(kind: str, changes: tuple, icon: str) -> None:
    (line,) = diary_lines([entry(*(change(None, value) for value in changes), kind=kind)], NAMES, TODAY)
    assert line.icon == icon


def test_a_line_of_undoing_says_so_before_what_was_undone() -> None:
    """It read like five rows woven: the rows come after the word."""
    (line,) = diary_lines([entry(change(session(1, 5), None), kind="undone", undoes_id="x")], NAMES, TODAY)
    assert line.head == "Undone"
    assert "+5 rows" in line.more


def test_a_picture_is_shown_with_its_act_until_that_is_undone() -> None:
    picture = change(None, Photo(id="f", rug_id="rug", day=TODAY, file_name="f.jpg"), "f")
    (line,) = diary_lines([entry(picture, kind="photo kept")], NAMES, TODAY)
    assert line.photo == "f.jpg"
    (line,) = diary_lines([entry(picture, kind="photo kept", undone=True)], NAMES, TODAY)
    assert (line.photo, line.tag, line.struck) == ("", "undone", True)
    (line,) = diary_lines(
        [entry(change(picture.after, None, "f"), kind="photo kept", undoes_id="x")], NAMES, TODAY
    )
    assert (line.struck, line.icon) == (False, "undo")


def test_a_deed_unknown_to_this_version_is_still_told() -> None:
    assert deed_words("yarn dyed anew") == "Yarn dyed anew"


def test_an_unknown_filter_lets_everything_through() -> None:
    assert filter_of("no such").kinds is None
    assert len({one.key for one in filters()}) == len(filters())


def test_the_wished_for_day_is_found_among_the_plans_acts(tmp_path) -> None:
    with Book.open(tmp_path / "b") as opened:
        with opened.act("rug planned", rug_id="rug") as act:
            act.write(plan())
        with opened.act("wished-for day changed", rug_id="rug") as act:
            act.write(plan(wished_day=date(2026, 12, 24)))
        found = diary.entries(opened, kinds=filter_of("plan").kinds)
    assert [entry.kind for entry in found] == ["wished-for day changed", "rug planned"]


def test_the_list_says_that_the_order_was_changed_and_nothing_of_what_it_says(tmp_path) -> None:
    order = Order(id="o", rug_id="rug", customer="The inn", price=2400.0, promised_day=date(2026, 12, 20))
    paid = Payment(id="p", rug_id="rug", day=date(2026, 11, 2), amount=777.0, kind=PaymentKind.DEPOSIT)
    with Book.open(tmp_path / "b") as opened:
        for kind, value in (
            ("order changed", order),
            ("order changed", replace(order, customer="The mill", price=2500.0)),
            ("payment entered", paid),
            ("entry corrected", replace(paid, amount=778.0)),
        ):
            with opened.act(kind, rug_id="rug") as act:
                act.write(value)
        with opened.act("entry withdrawn", rug_id="rug") as act:
            act.withdraw("p")
            gone = act.act_id
        opened.undo(gone)
        entries = diary.entries(opened)
        lines = diary_lines(entries, NAMES, TODAY)
    assert len(lines) == 6
    deeds = [line.more.split(" · ")[0] for line in lines]
    assert deeds == ["Undone", *["Order changed"] * 5]
    # One line is like another: head, icon, and so many words beside the time of day.
    assert {(line.head, len(line.more.split(" · ")), line.photo) for line in lines} == {
        ("Customer's order", 2, "")
    }
    assert [line.icon for line in lines] == ["undo", *["person"] * 5]
    # Who opens one reads what it was.
    assert entry_detail(entries[4], NAMES, TODAY).changes[0].lines == (
        "For whom: The inn → The mill", "Agreed price: 2,400 → 2,500",
    )  # fmt: skip


def test_of_an_act_of_many_entries_the_order_is_told_last() -> None:
    order = Order(id="o", rug_id="rug", customer="The inn")
    lot = Lot(id="l", rug_id="rug", yarn_id="red", day=TODAY, mass_g=500)
    both = entry(change(None, order, "o"), change(None, lot, "l"), kind="rescued")
    (line,) = diary_lines([both], NAMES, TODAY)
    assert line.head == "500 g of Madder, and 1 other entry"


def test_lines_say_what_happened_in_words_of_the_trade() -> None:
    def first(*changes: SimpleNamespace, **told) -> tuple[str, str]:
        (line,) = diary_lines([entry(*changes, **told)], NAMES, TODAY)
        return line.head, line.more.rsplit(" · ", 1)[0]

    fringe = AfterStep(id="f", rug_id="rug", number=4, name="Fringe", days=2.0)
    done = replace(fringe, done_day=date(2026, 11, 19))
    ticked = {"kind": "step ticked"}
    assert first(change(fringe, done), **ticked) == ("Fringe: done", "done on 19 Nov · Step after weaving")
    assert first(change(done, fringe), **ticked) == ("Fringe", "not done yet · Step after weaving")
    woven, ended = plan(), plan(stage=RugStage.FINISHED, finished_day=date(2026, 11, 19))
    assert first(change(woven, ended), kind="rug finished") == ("Little field", "on 19 Nov · Rug finished")
    unpicked = session(1, -2, None)
    losses = [Spoilt(id=f"x{at}", rug_id="rug", yarn_id="red", day=TODAY, mass_g=2.0) for at in range(5)]
    all_of_it = [change(None, value, value.id) for value in (unpicked, *losses)]
    assert first(*all_of_it, kind="rows unpicked")[0] == "2 rows unpicked, and what was lost of 5 yarns"
    noted = replace(session(1, 5), note="corner")
    assert first(change(noted, replace(noted, note="")))[1].startswith(
        "for 2 Nov · Corrected · Note: corner, taken out"
    )


def test_a_mended_cartoon_says_which_squares() -> None:
    cells = np.zeros((50, 30), dtype=np.uint8)
    cartoon = Cartoon(id="c", rug_id="rug", cells=cells, palette=("#A5372A", "#223A63"))

    def mended(*squares: tuple[int, int]) -> str:
        other = cells.copy()
        for row, knot in squares:
            other[row - 1, knot - 1] = 1
        act = entry(change(cartoon, replace(cartoon, cells=other), "c"), kind="cartoon mended")
        (line,) = diary_lines([act], NAMES, TODAY)
        assert line.more.startswith("Cartoon mended · ")
        assert entry_detail(act, NAMES, TODAY).changes[0].lines == (f"Mended: {line.head}",)
        return line.head

    assert mended((47, 21)) == "Row 47, knot 21"
    assert mended((47, 21), (47, 24)) == "2 squares: row 47, knots 21 to 24"
    assert mended((40, 9), (42, 3)) == "2 squares: rows 40 to 42, knots 3 to 9"
    # Of another size, or entered anew: there are no squares to name.
    assert mended_words(cartoon, replace(cartoon, cells=cells[:40])) == mended_words(None, cartoon) == ""
    assert mended_words(cartoon, cartoon) == ""
