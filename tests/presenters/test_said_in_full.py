"""Pages and lists of small rugs read whole: every figure, sentence and mark that a weaver reads there."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from tests.presenters import answers as told
from tests.presenters import rugs
from tests.today import TODAY
from tests.unit.reports.books import small_answers, small_book
from tracker.domain.mark import CartoonMark
from tracker.domain.order import DeliveryWay, Order, OrderItem, Payment, PaymentKind
from tracker.domain.rug import (
    AfterStep,
    Cartoon,
    Cost,
    CostKind,
    DaysOff,
    Lot,
    Measurement,
    PriceShown,
    Pricing,
    RugStage,
    Wage,
    WageBasis,
    Weaver,
)
from tracker.domain.shopping import buy_line
from tracker.domain.trimming import Trim
from tracker.forecast.answers import Basis, Course, FinishAnswer, ShapeAnswer, YarnWord
from tracker.presenters import answer_words as words
from tracker.presenters import finish, loom, marks, order, session, trimming, zoom
from tracker.presenters.aloud import AloudState, build_aloud_state
from tracker.presenters.cartoon_reading import (
    KnotWish,
    build_knot_state,
    build_missing_lines,
    build_reading_state,
    view_words,
    way_words,
)
from tracker.presenters.cloth_shape import build_shape_state
from tracker.presenters.copies import build_copies_state, restored_words, size_words, why_words
from tracker.presenters.costs import build_costs_state, costs_text, currency_choices, currency_words
from tracker.presenters.fact import Fact
from tracker.presenters.home import build_home_state, what_changed
from tracker.presenters.picture import chosen_cartoon, rug_picture, shown_aspect
from tracker.presenters.plan.form import blank_form
from tracker.presenters.record.by_time import chart_of_rows, rows_by_month
from tracker.presenters.record.weavers import weaver_entries
from tracker.presenters.standing import Buy, Standing, buy_of, stand_words, sum_words
from tracker.presenters.yarn import build_yarn_state

# --- what is said of answers


@pytest.mark.parametrize(
    ("word", "changes", "said"),
    [
        (YarnWord.DONE, {}, "done"),
        (YarnWord.NOT_BOUGHT, {"order_g": 500.0}, "to buy 500 g"),
        (YarnWord.SHORT, {"short_g": 340.0}, "short 340 g"),
        (YarnWord.TIGHT, {"on_hand_g": 400.5}, "just enough, 0 g spare"),
        (YarnWord.TIGHT, {"on_hand_g": 400.0}, "just enough, 0 g spare"),
        (YarnWord.TIGHT, {"on_hand_g": 399.7}, "just enough, 0 g spare"),
        (YarnWord.TIGHT, {"on_hand_g": 420.0}, "just enough, 20 g spare"),
        (YarnWord.TIGHT, {"on_hand_g": 421.0}, "probably enough, 21 g spare"),
        (YarnWord.TIGHT, {"on_hand_g": 390.0}, "may run short, by about 10 g"),
        (YarnWord.ENOUGH, {}, "enough, 100 g spare"),
    ],
)
def test_how_a_yarn_stands(word: YarnWord, changes: dict[str, Any], said: str) -> None:
    assert words.yarn_words(told.yarn("red", word, **changes)) == said


def test_no_page_says_enough_of_a_yarn_of_which_some_is_likely_missing() -> None:
    """Of a quarter that was missing three pages said "just enough", "only just enough" and "nearly enough"."""
    rug = rugs.book(lots=(Lot(id="l", rug_id="rug", yarn_id="red", day=TODAY, mass_g=1000.0),))
    answers = told.answers(
        yarns=(told.yarn("red", YarnWord.TIGHT, on_hand_g=242.0, needed_g=327.0, chance=0.25),)
    )
    first = build_home_state(rug, answers)
    (alert,) = first.alerts
    assert (alert.title, alert.more) == ("Madder may run short", "about 85 g short")
    page = build_yarn_state(rug, answers)
    assert page.headline == "1 yarn may run short."
    assert page.cards[0].word == "may run short, by about 85 g"
    assert "enough" not in repr((first.alerts, page.headline, page.cards[0]))


def test_what_is_to_buy_is_said_as_a_sum_that_adds_up() -> None:
    """A stranger read "to buy 4.04 kg" beside "likely 2.14 to 3.75 kg", and nobody told why."""

    def standing(needed_g: float, on_hand_g: float, buy: Buy) -> Standing:
        return Standing(
            whole_g=500.0, whole_low_g=500.0, whole_high_g=500.0, needed_g=needed_g, needed_low_g=needed_g,
            needed_high_g=needed_g, on_hand_g=on_hand_g, on_hand_low_g=on_hand_g, on_hand_high_g=on_hand_g,
            buy=buy, part_of_warp=False,
        )  # fmt: skip

    wide = standing(2840.0, 0.0, Buy(0, 4040.0, None, want_g=4035.0, chance=0.951))
    assert sum_words(wide) == "2.84 kg still needed + 1.2 kg so that it is enough in 19 of 20 cases"
    skeins = standing(578.0, 333.0, Buy(2, 500.0, None, want_g=303.0, chance=0.985))
    assert sum_words(skeins) == (
        "578 g still needed − 333 g on hand + 58 g so that it is enough in 49 of 50 cases + 197 g to whole skeins"
    )
    # With more on hand than is needed, too, it adds up: 381 - 400 + 39 + 480 = 500.
    least = standing(381.0, 400.0, Buy(0, 500.0, None, 500.0, want_g=20.0, chance=0.97))
    assert sum_words(least) == (
        "381 g still needed − 400 g on hand + 39 g so that it is enough in 19 of 20 cases"
        " + 480 g because no less than 500 g is sold"
    )
    assert sum_words(standing(381.0, 0.0, Buy(0, 490.0, None, want_g=482.0, chance=0.4))) == (
        "381 g still needed + 109 g as a reserve"
    )
    # Just what is missing; and nothing at all.
    assert sum_words(standing(381.0, 81.0, Buy(0, 300.0, None, want_g=300.0))) == (
        "381 g still needed − 81 g on hand"
    )
    assert sum_words(standing(381.0, 900.0, Buy(0, 0.0, None))) == ""
    unsure = replace(standing(381.0, 400.0, Buy(0, 50.0, None)), on_hand_low_g=350.0, on_hand_high_g=450.0)
    assert stand_words(unsure) == "still needed 381 g, on hand 400 g (likely 350 g to 450 g)"
    assert stand_words(replace(unsure, buy=Buy(0, 0.0, None))) == "still needed 381 g, on hand 400 g"
    rug = rugs.book()
    red = replace(rug.yarns[0], skein_g=250.0, least_purchase_g=500.0)
    line = buy_line(rug, red, 300.0, 300.0, 300.0)
    assert buy_of(line, None, red).least_g == 500.0
    assert buy_of(line, None, replace(red, least_purchase_g=250.0)).least_g == 0.0, "one skein is sold"
    assert buy_of(buy_line(rug, red, 900.0, 900.0, 900.0), None, red).least_g == 0.0, (
        "more is needed than that"
    )


def test_days_and_ranges() -> None:
    assert words.day_range(TODAY, TODAY, TODAY) == "25 November"
    assert words.day_range(date(2026, 12, 1), date(2026, 12, 9), TODAY) == "likely 1 Dec to 9 Dec"
    assert words.day_range(date(2026, 12, 1), date(2027, 1, 9), TODAY) == "likely 1 Dec to 9 Jan 2027"
    # Three hundred days on, a day and its month could be of either year.
    assert words.day_near(date(2027, 9, 20), TODAY) == "20 Sept"
    assert words.day_near(date(2027, 9, 21), TODAY) == "21 Sept 2027"
    assert words.mass_range(380.0, 420.0) == "380 g to 420 g"
    assert words.mass_range(400.1, 400.2) == words.mass_range_in_full(400.1, 400.2) == ""
    assert words.mass_range_in_full(380.0, 420.0) == "likely 380 g to 420 g"
    assert words.silent_words(1) == (
        "Nothing entered for 1 day", "no date", "Log a session to get a date again.",
    )  # fmt: skip
    assert words.last_row_about(date(2027, 1, 12), TODAY) == "last row about 12 January 2027"
    assert words.last_row_label(Basis(sessions=1, from_plan=False)) == "Last row, by the plan and 1 session"
    assert words.last_row_label(Basis(sessions=1200, from_plan=False)) == "Last row, from 1,200 sessions"


def test_the_row_that_comes_next() -> None:
    rug = rugs.book()
    assert words.next_row_words(told.where(rows_woven=0), rug) == ""
    assert words.next_row_words(told.where(rows_woven=1), rug) == "row 2 next"
    assert words.next_row_words(told.where(rows_woven=199), rug) == "row 200 next"
    assert words.next_row_words(told.where(rows_woven=200), rug) == ""
    assert words.next_row_words(told.where(rows_woven=0, knots_begun=40), rug) == "row 1: 40 of 100 knots"


def test_the_end_is_the_day_it_was_called_finished_or_the_last_row() -> None:
    assert words.woven_words(rugs.book(), TODAY) == ("Last row woven", "woven")
    woven = rugs.book(rugs.session(3, 5), rugs.session(1, 5))
    assert words.woven_words(woven, TODAY) == ("Last row woven", "4 November")
    finished = replace(woven, plan=rugs.plan(finished_day=date(2026, 11, 20)))
    assert words.woven_words(finished, TODAY) == ("Finished", "20 November")


def test_the_first_view_whole() -> None:
    rug = rugs.book(rugs.session(1, 5), plan=rugs.plan(wished_day=date(2027, 2, 1)))
    state = build_home_state(
        rug,
        told.answers(finish=FinishAnswer(middle=date(2027, 1, 20), early=date(2027, 1, 12), late=date(2027, 1, 31),
                                         chance_of_wish=0.9)),
    )  # fmt: skip
    assert (state.rug_name, state.row_figure, state.rows_woven, state.picture_rows, state.next_row) == (
        "Little field", "50", 50, 200, "row 51 next",
    )  # fmt: skip
    assert (state.finish_label, state.finish_figure, state.finish_range, state.wish) == (
        "Last row, from 10 sessions", "20 January 2027", "likely 12 Jan to 31 Jan 2027", "target 1 Feb",
    )  # fmt: skip
    assert (state.act, state.next_page, state.basis, state.from_plan) == (
        "Log the session",
        "session",
        "",
        False,
    )
    assert (state.alerts, state.others) == ((), "all yarns last")
    assert state.band is not None
    # 48, 56, 67 and 68 days ahead, on a line of 68 days and an eighth: 76.16.
    assert (state.band.early, state.band.middle, state.band.late, state.band.target) == pytest.approx(
        (48 / 76.16, 56 / 76.16, 67 / 76.16, 68 / 76.16)
    )
    woven = build_home_state(rug, told.answers(where=told.where(rows_woven=200), finish=None))
    assert (woven.act, woven.next_page, woven.band) == ("Next: Cut off", "finish", None)
    done = build_home_state(replace(rug, plan=rugs.plan(stage=RugStage.FINISHED)), told.answers())
    assert (done.act, done.next_page) == ("Share and print the record", "export")
    without = build_home_state(rugs.book(), told.answers())
    assert without.band is not None
    assert without.band.target == -1.0


def test_what_is_the_matter_with_each_yarn_on_the_first_view() -> None:
    rug = rugs.book(rugs.session(1, 5))

    def alert(word: YarnWord, **changes: Any) -> tuple[str, ...]:
        answers = told.answers(yarns=(told.yarn("red", word, **changes), told.yarn("blue")))
        (only,) = build_home_state(rug, answers).alerts
        return only.yarn_id, only.number, only.swatch, only.title, only.more, only.act, only.tone

    red = ("red", "1", "#9C2F25")
    assert alert(YarnWord.TIGHT, on_hand_g=410.0) == (
        *red,
        "Madder: just enough",
        "just 10 g spare",
        "",
        "ink",
    )
    assert alert(YarnWord.NOT_BOUGHT, order_g=500.0) == (
        *red,
        "Madder is still to buy",
        "",
        "to buy 500 g",
        "madder",
    )
    assert alert(YarnWord.SHORT, runs_out_row=199) == (
        *red,
        "Madder runs short",
        "ends at row 199",
        "",
        "madder",
    )
    assert alert(YarnWord.SHORT, runs_out_row=200, order_g=1.0)[4:6] == ("", "to buy 1 g")
    done = told.answers(yarns=(told.yarn("red", YarnWord.DONE),))
    assert build_home_state(rug, done).others == "no more needed"
    all_short = told.answers(yarns=tuple(told.yarn(name, YarnWord.SHORT) for name in ("red", "blue")))
    assert build_home_state(rug, all_short).others == ""
    assert build_home_state(rug, told.answers(yarns=())).others == ""


def test_what_a_saved_session_answers_in_one_line() -> None:
    rug = rugs.book(rugs.session(1, 5))
    assert what_changed(None, told.answers(yarns=()), rug) == "Row 50 of 200 · 20 Jan 2027"
    assert what_changed(None, told.answers(), rug).endswith(" · every yarn lasts")
    begun = told.answers(where=told.where(knots_begun=40), finish=None)
    assert what_changed(None, begun, rug) == "row 51: 40 of 100 knots · every yarn lasts"
    woven = told.answers(finish=None, finished=True, yarns=())
    assert what_changed(None, woven, rug) == "Row 50 of 200 · the last row is woven"
    short = told.answers(finish=None, yarns=(told.yarn("blue", YarnWord.SHORT, short_g=40.0),))
    assert what_changed(None, short, rug) == "Row 50 of 200 · Indigo: short 40 g"
    assert what_changed(None, short, rug, briefly=True) == "Row 50 of 200"
    later = replace(told.answers(yarns=()), finish=replace(told.answers().finish, middle=date(2027, 1, 21)))
    assert what_changed(told.answers(), later, rug) == "Row 50 of 200 · 21 Jan 2027 (1 day later than before)"
    assert (
        what_changed(later, told.answers(yarns=()), rug)
        == "Row 50 of 200 · 20 Jan 2027 (1 day sooner than before)"
    )
    # What an act left as it was is not said again: the page says it.
    assert what_changed(replace(short, finish=None), short, rug) == "Row 50 of 200"
    assert what_changed(told.answers(), short, rug).endswith("Indigo: short 40 g")
    assert what_changed(short, told.answers(finish=None), rug).endswith(" · every yarn lasts")
    assert what_changed(told.answers(finish=None), later, rug) == "Row 50 of 200 · 21 Jan 2027"


# --- copies


def test_why_a_copy_was_made_and_what_it_holds() -> None:
    assert [why_words(why) for why in (
        "daily", "before-update", "before-restoring", "before-joining", "asked", "later",
    )] == [
        "the copy of the day", "before the app was renewed", "before going back to a copy",
        "before another phone's file was taken in", "you asked for it", "later",
    ]  # fmt: skip
    none = build_copies_state([], TODAY)
    assert (none.headline, none.room, none.lines, none.none_yet) == (
        "No copy yet.", "", (),
        "The book is copied once a day of use, and before anything that could go wrong. Each copy is checked. Pictures are not copied.",
    )  # fmt: skip
    copy = SimpleNamespace(path=Path("/a.book"), made_at=datetime(2026, 11, 20, 12, tzinfo=UTC), reason="asked",
                           size_bytes=1_600_000)  # fmt: skip
    one = build_copies_state([(copy, 1)], TODAY)
    assert (one.headline, one.room) == ("1 copy on this phone", "1.6 MB")
    (line,) = one.lines
    assert (line.path, line.why, line.size, line.since) == (
        "/a.book",
        "you asked for it",
        "1.6 MB",
        "1 entry since",
    )
    assert [size_words(size) for size in (1, 1499, 1501, 999_999, 1_000_000)] == [
        "1 kB",
        "1 kB",
        "2 kB",
        "1,000 kB",
        "1 MB",
    ]
    assert restored_words(1) == "1 entry is back as in the copy. Later changes are in the history."


# --- the row at the loom


def knotted(rows: int = 4, **changes: Any):
    """A cartoon of 100 knots: 60 of madder, one of indigo, 39 of a colour without a yarn."""
    cells = np.zeros((rows, 100), dtype=np.uint8)
    cells[:, 60] = 1
    cells[:, 61:] = 2
    red, blue, weft = rugs.yarns()
    return rugs.book(
        rugs.session(1, 1),
        cartoon=Cartoon(id="c", rug_id="rug", cells=cells, palette=("#111111", "#222222", "#333333")),
        yarns=(replace(red, cartoon_values=(0,)), replace(blue, cartoon_values=(1,)), weft),
        **changes,
    )


def test_a_row_and_its_runs_in_full() -> None:
    rug = knotted(200)
    state = loom.build_loom_state(rug, None, None, TODAY)
    assert (state.state, state.row, state.current, state.figure, state.of, state.summary, state.hint) == (
        "row", 2, 2, "2", "of 200 rows", "3 runs, 3 colours", "",
    )  # fmt: skip
    assert (state.counted, state.counted_words, state.begun, state.begun_runs, state.browsing) == (
        0,
        "",
        0,
        0,
        False,
    )
    assert [
        (r.knots, r.count, r.name, r.code, r.swatch, r.first, r.last, r.span, r.begun) for r in state.runs
    ] == [
        (60, "60", "Madder", "1", "#9C2F25", 1, 60, "knots 1 to 60", 0),
        (1, "1", "Indigo", "2", "#27406B", 61, 61, "knot 61", 0),
        (39, "39", "no yarn yet", "?", "#333333", 62, 100, "knots 62 to 100", 0),
    ]
    back = loom.build_loom_state(rug, 2, None, TODAY, mirrored=True)
    assert back.summary == "3 runs, 3 colours, from the back"
    assert [(r.first, r.last, r.name) for r in back.runs] == [
        (1, 39, "no yarn yet"), (40, 40, "Indigo"), (41, 100, "Madder"),
    ]  # fmt: skip
    part = loom.build_loom_state(rug, 2, None, TODAY, part=(51, 61))
    assert [(r.first, r.last) for r in part.runs] == [(51, 60), (61, 61)]
    assert part.summary == "2 runs, 2 colours"
    part = loom.build_loom_state(rug, 2, None, TODAY, mirrored=True, part=(51, 61))
    assert [(r.first, r.last) for r in part.runs] == [(40, 40), (41, 50)]
    assert loom.build_loom_state(rug, 1, None, TODAY).browsing


def test_a_row_that_was_begun_says_what_of_it_is_tied() -> None:
    rug = replace(knotted(200), sessions=(rugs.session(1, 1, begun_knots=40),))
    state = loom.build_loom_state(rug, None, None, TODAY)
    assert (state.begun, state.begun_runs, state.summary) == (40, 0, "40 of 100 knots tied")
    first, second, _third = state.runs
    assert (first.begun, first.count, first.span) == (40, "20", "40 of 60 tied")
    assert (second.begun, second.count, second.span) == (0, "1", "knot 61")
    whole = replace(knotted(200), sessions=(rugs.session(1, 1, begun_knots=60),))
    state = loom.build_loom_state(whole, None, None, TODAY)
    assert (state.begun_runs, state.runs[0].begun) == (1, 0)
    assert loom.build_loom_state(rug, 3, None, TODAY).begun == 0
    assert loom.build_loom_state(rug, None, None, TODAY, part=(1, 50)).begun == 0


def test_where_there_is_no_row_to_show_it_is_said_why() -> None:
    bare = loom.build_loom_state(rugs.book(), None, None, TODAY)
    assert bare.state == "no cartoon"
    assert bare.hint.startswith("This rug has no cartoon. With one, this page shows the runs of every row")
    woven = loom.build_loom_state(knotted(1), None, None, TODAY)
    assert (woven.state, woven.hint) == ("woven", "Every row of this rug is woven.")
    assert loom.build_loom_state(knotted(1), 1, None, TODAY).state == "row"
    done = replace(knotted(200), plan=rugs.plan(stage=RugStage.FINISHED))
    assert loom.build_loom_state(done, 1, None, TODAY).state == "woven"


def test_counted_rows_are_told_with_their_day() -> None:
    rug = knotted(200)
    form = session.blank_form(rug, TODAY).with_rows(3, rug)
    now = loom.build_loom_state(rug, None, form, TODAY)
    assert (now.row, now.counted, now.counted_words) == (5, 3, "+3 rows counted")
    before = loom.build_loom_state(rug, None, replace(form, rows=-1, day=date(2026, 11, 20)), TODAY)
    assert (before.row, before.counted_words) == (1, "−1 row counted on 20 Nov")
    assert loom.must_save_first(replace(form, day=date(2026, 11, 24)), TODAY, False)
    assert not loom.must_save_first(replace(form, day=date(2026, 11, 24)), TODAY, True)
    assert not loom.must_save_first(form, TODAY, False)
    assert not loom.must_save_first(replace(form, day=date(2026, 11, 24), rows=0), TODAY, False)
    assert not loom.must_save_first(None, TODAY, False)


def test_a_row_read_aloud_run_by_run() -> None:
    row = loom.build_loom_state(knotted(200), None, None, TODAY)
    hint = "Touch here when it is tied."
    first = AloudState(
        "Row 2",
        "Run 1 of 3",
        "60",
        "Madder",
        "1",
        "#9C2F25",
        "knots 1 to 60",
        hint,
        "Row 2. 60 Madder.",
        False,
    )
    assert build_aloud_state(row, None) == build_aloud_state(row, 0) == first
    assert build_aloud_state(row, 1) == AloudState(
        "Row 2", "Run 2 of 3", "1", "Indigo", "2", "#27406B", "knot 61", hint, "1 Indigo.", False
    )
    end = AloudState(
        "Row 2",
        "",
        "",
        "End of the row",
        "",
        "",
        "",
        "Touch here when the row is woven.",
        "End of the row.",
        True,
    )
    assert build_aloud_state(row, 3) == end
    other = loom.build_loom_state(knotted(200), 1, None, TODAY)
    assert build_aloud_state(other, 3) == replace(end, row="Row 1", hint="Touch here to go back to your row.")


def test_the_parts_of_a_team_are_offered_where_it_is_known_who_sits() -> None:
    places = (("ann", 1, 60), ("bo", 61, 100))
    rug = replace(
        knotted(200), sessions=(rugs.session(1, 1, weavers=("ann", "bo"), places=places, ahead=(("bo", 2),)),)
    )
    parts = loom.team_parts(rug, None)
    assert [
        (p.number, p.name, p.knots, p.span, p.share, p.gap_before, p.ahead, p.ahead_words) for p in parts
    ] == [
        ("1", "Ann", "60 knots", "knots 1 to 60", 0.6, 0.0, 0, ""),
        ("2", "Bo", "40 knots", "knots 61 to 100", 0.4, 0.0, 2, "2 rows ahead"),
    ]
    assert [(part.first, part.last) for part in parts] == [(1, 60), (61, 100)]
    assert [part.words for part in parts] == ["1 Ann: 60 knots", "2 Bo: 40 knots, 2 rows ahead"]
    assert loom.part_words(None, ()) == ""
    assert loom.part_words(None, parts) == "The whole row"
    assert loom.part_words(parts[1], parts) == "Bo: knots 61 to 100, 2 rows ahead"
    assert loom.part_words(parts[1], parts, short=True) == "Bo, 2 rows ahead"
    assert loom.row_of_part(parts[1], 2, 200) == 4
    assert loom.row_of_part(parts[1], 199, 200) == 200
    assert loom.row_of_part(parts[0], 2, 200) is None
    # A form waits: those of last time sit as they sat; of others nobody said.
    same = session.blank_form(rug, TODAY)
    assert [part.name for part in loom.team_parts(rug, same)] == ["Ann", "Bo"]
    assert loom.team_parts(rug, replace(same, weavers=("ann",), places=())) == ()
    assert [part.name for part in loom.team_parts(rug, replace(same, places=(), weavers=("bo", "ann")))] == [
        "Ann",
        "Bo",
    ]
    first = loom.team_parts(replace(rug, sessions=()), replace(same, places=()))
    assert first == ()
    kept = loom.with_part({"other": "ann"}, "rug", "bo")
    assert kept == {"other": "ann", "rug": "bo"}
    assert loom.part_of(kept, "rug", parts) == parts[1]
    assert loom.part_of("damaged", "rug", parts) is None
    assert loom.with_part(kept, "rug", None) == {"other": "ann"}
    assert loom.with_part(None, "rug", "bo") == {"rug": "bo"}


def test_the_place_in_a_row_counts_for_its_row_and_part_alone() -> None:
    kept = loom.with_place({"other": 1}, "rug", 2, 3, (1, 60))
    assert kept == {"other": 1, "rug": {"row": 2, "run": 3, "part": [1, 60]}}
    assert loom.place_of(kept, "rug", 2, 3, (1, 60)) == 3
    assert loom.place_of(kept, "rug", 2, 2, (1, 60)) is None
    assert loom.place_of(kept, "rug", 2, 3) is None
    assert loom.place_of(kept, "rug", 3, 3, (1, 60)) is None
    whole = loom.with_place(None, "rug", 2, 2)
    assert whole == {"rug": {"row": 2, "run": 2}}
    assert loom.place_of(whole, "rug", 2, 3, (1, 60)) is None
    assert loom.knots_at(whole, knotted(200), mirrored=False) == session.PlaceAtLoom(2, 61, None)
    assert loom.knots_at(whole, knotted(200), mirrored=True) == session.PlaceAtLoom(2, 40, None)
    assert loom.knots_at(loom.with_place(None, "rug", 2, 0), knotted(200), mirrored=False) is None
    assert loom.knots_at({"rug": {"row": "2"}}, knotted(200), mirrored=False) is None
    for said, on in ((TODAY.isoformat(), TODAY), ("yesterday", None), (7, None)):
        marked = {"rug": {"row": 2, "run": 2, "on": said}}
        assert loom.knots_at(marked, knotted(200), mirrored=False) == session.PlaceAtLoom(2, 61, on)


def test_a_strip_of_the_cartoon_pales_upwards_and_ends_in_bare_ground() -> None:
    rug = knotted(4)
    strip = loom.row_strip(rug, 1, 1, 2, "#FFFFFF")
    assert strip is not None
    assert (strip.row_index, strip.picture.shape) == (1, (4, 100, 3))
    # Below the first row lies bare ground; the rows above are drawn 55 % of the way from madder to white.
    assert strip.picture[:, 0].tolist() == [[255, 255, 255], [156, 47, 37], [210, 161, 157], [210, 161, 157]]
    top = loom.row_strip(rug, 4, 0, 1, "#FFFFFF", mirrored=True)
    assert top is not None
    assert (top.picture[0, 0].tolist(), top.picture[1, 0].tolist()) == ([0x33, 0x33, 0x33], [255, 255, 255])
    assert top.picture[0, 99].tolist() == [156, 47, 37]
    assert (
        loom.row_strip(rug, 0, 1, 1)
        is loom.row_strip(rug, 5, 1, 1)
        is loom.row_strip(rugs.book(), 1, 1, 1)
        is None
    )


# --- the picture of the rug


def test_the_knots_of_a_row_that_was_begun_stand_in_full_colour_from_the_side_where_it_begins() -> None:
    rug = replace(knotted(200), sessions=(rugs.session(1, 1, begun_knots=40),))
    picture = rug_picture(rug, "#FFFFFF")
    assert picture[0, 0].tolist() == picture[1, 39].tolist() == [156, 47, 37]
    assert picture[1, 40].tolist() == picture[2, 0].tolist() != [156, 47, 37]
    back = rug_picture(rug, "#FFFFFF", mirrored=True)
    assert back[1, 60].tolist() == [0x27, 0x40, 0x6B]
    assert back[1, 59].tolist() != [156, 47, 37]


def test_a_bare_rug_is_a_plain_one_in_its_yarns_shares_and_sets_its_evenings_off() -> None:
    """No design is made up: the yarn knotted most is the field, the next one its border, each as much of the cloth as is said."""
    red, blue, weft = rugs.yarns()
    shares = (replace(blue, share=0.25), replace(red, share=0.75), weft)
    whole = rug_picture(rugs.book(yarns=shares), "#FFFFFF").astype(int)
    red_there = whole[..., 0] > whole[..., 2]
    assert red_there.mean() == pytest.approx(0.75, abs=0.03)
    # One field in the middle, as far from every edge: no speck of either colour in the other.
    up, across = (np.flatnonzero(red_there.any(axis=axis)) for axis in (1, 0))
    assert red_there[up[0] : up[-1] + 1, across[0] : across[-1] + 1].all()
    assert up[0] == across[0] == red_there.shape[0] - 1 - up[-1] == red_there.shape[1] - 1 - across[-1] > 0
    height, width = whole.shape[:2]
    assert width / height == pytest.approx(shown_aspect(rugs.book()), rel=0.05)
    evenings = rug_picture(
        rugs.book(rugs.session(1, 50), rugs.session(2, 50), yarns=(replace(red, share=1.0),)), "#FFFFFF"
    ).astype(float)
    first, second, ahead = (
        part.mean()
        for part in (evenings[: height // 4], evenings[height // 4 : height // 2], evenings[height // 2 :])
    )
    assert first == pytest.approx(0.9 * second, rel=0.02)
    assert ahead > second + 60
    undyed = rug_picture(rugs.book(yarns=())).reshape(-1, 3).mean(axis=0)
    assert undyed == pytest.approx([0xB0, 0x8D, 0x62], rel=0.06)


def test_a_planned_cartoon_shows_its_yarns() -> None:
    chosen = SimpleNamespace(cells=np.array([[0, 1], [1, 1]], dtype=np.uint8), palette=("#aa0000", "#00BB00"))
    drawn = chosen_cartoon(chosen, {"#AA0000": "#0000CC"})
    assert drawn.tolist() == [[[0, 0, 0xCC], [0, 0xBB, 0]], [[0, 0xBB, 0], [0, 0xBB, 0]]]
    assert chosen_cartoon(chosen, {}, longest=1).shape == (1, 1, 3)


def test_beside_the_picture_stands_how_far_it_is_woven() -> None:
    rug = rugs.book(
        rugs.session(1, 1),
        marks=(CartoonMark(id="m", rug_id="rug", day=TODAY, row=1, first_knot=11, last_knot=20),),
    )
    state = zoom.build_zoom_state(rug, told.answers(where=told.where(rows_woven=1)))
    assert (state.title, state.rows, state.row, state.aspect, state.row_words) == (
        "Little field",
        200,
        1,
        0.5,
        "1 row",
    )
    (woven,) = state.woven
    assert (woven.rows_up, woven.words, woven.span, woven.from_row, woven.to_row) == (0.5, "2 Nov", "", 1, 1)
    assert (state.ahead, state.lots) == ((), ())
    (drawn,) = state.marks
    assert (drawn.row, drawn.left, drawn.right) == (1, 0.1, 0.2)
    assert zoom.build_zoom_state(rugs.book(), told.answers()).row == 0
    begun = zoom.build_zoom_state(rug, told.answers(where=told.where(rows_woven=2, knots_begun=1)))
    assert begun.row_words == "2 rows, 1 knot"
    band = FinishAnswer(middle=date(2027, 1, 20), early=date(2027, 1, 12), late=date(2027, 1, 31),
                        bands=((100, date(2026, 12, 30), date(2027, 1, 2), date(2027, 1, 5)),))  # fmt: skip
    (ahead,) = zoom.build_zoom_state(rug, told.answers(finish=band)).ahead
    assert (ahead.rows_up, ahead.words, ahead.span, ahead.from_row, ahead.to_row) == (
        100.0, "2 Jan 2027", "30 Dec to 5 Jan 2027", 100, 100,
    )  # fmt: skip


# --- marks and trimming


def mark(row: int, first: int = 12, last: int = 20, **changes: Any) -> CartoonMark:
    return CartoonMark(
        **{
            "id": f"m{row}",
            "rug_id": "rug",
            "day": TODAY,
            "row": row,
            "first_knot": first,
            "last_knot": last,
            **changes,
        }
    )


def test_mistakes_are_listed_told_of_nearby_and_counted() -> None:
    rug = rugs.book(
        rugs.session(1, 20),
        marks=(mark(9, note="too dark"), mark(4), mark(1, mended_day=date(2026, 11, 20), note="n")),
    )
    lines = marks.mark_lines(rug, TODAY)
    assert [(line.mark_id, line.where, line.note, line.mended) for line in lines] == [
        ("m4", "Row 4, knots 12 to 20", "", False),
        ("m9", "Row 9, knots 12 to 20", "too dark", False),
        ("m1", "Row 1, knots 12 to 20", "n, mended 20 Nov", True),
    ]
    assert marks.summary_words(rug) == "2 mistakes are still there."
    assert marks.summary_words(rugs.book(marks=(mark(1),))) == "1 mistake is still there."
    assert marks.summary_words(rugs.book(marks=(mark(1, mended_day=TODAY),))) == "Nothing is left to mend."
    assert marks.summary_words(rugs.book()) == ""
    near = marks.near_mark(rug, 14)
    assert near is not None
    assert (near.mark.id, near.words) == ("m9", "Mistake: Row 9, knots 12 to 20")
    assert marks.near_mark(rug, 15) is None
    between = marks.near_mark(rugs.book(marks=(mark(9), mark(5, 30, 31))), 7)
    assert between is not None
    assert between.mark.id == "m5"
    assert marks.with_mended(mark(1), TODAY).mended_day == TODAY
    assert marks.with_mended(mark(1, mended_day=TODAY), TODAY).mended_day is None
    beyond = marks.drawn_marks(rugs.book(marks=(mark(200, 91, 120), mark(201), mark(3, 101, 120))))
    assert [(drawn.row, drawn.left, drawn.right) for drawn in beyond] == [(200, 0.9, 1.0)]
    for row, knot, answered in ((0, 0, (1, 1, 1)), (500, 500, (200, 100, 100)), (7, 9, (7, 9, 9))):
        form = marks.form_at(rug, TODAY, row, knot)
        assert (form.answers["row"], form.answers["first_knot"], form.answers["last_knot"]) == answered


def trim(row: int, after_mm: float | None = None, born: int = 0) -> Trim:
    return Trim(
        id=f"t{row}.{born}", rug_id="rug", day=date(2026, 11, 20), row=row, after_mm=after_mm, born=born
    )


def test_when_the_pile_is_to_be_trimmed() -> None:
    def state(rows: int, every: int | None, *trims: Trim) -> trimming.TrimmingState:
        return trimming.build_trimming_state(
            rugs.book(rugs.session(1, rows), plan=rugs.plan(trim_every_rows=every), trims=trims)
        )

    never = state(10, None)
    assert (never.headline, never.more, never.due, never.every, never.warning, never.lines) == (
        "Not trimmed yet", "Log each trimming: up to which row, and how high the pile was before and after.",
        False, "", "", (),
    )  # fmt: skip
    assert state(19, 20).headline == "Trim in 1 row"
    due = state(20, 20)
    assert (due.headline, due.due, due.every) == (
        "Trim the pile now: 20 rows since the last time.",
        True,
        "every 20 rows",
    )
    assert trimming.due_words(rugs.book(rugs.session(1, 1), plan=rugs.plan(trim_every_rows=1))) == (
        "Trim the pile now: 1 row since the last time."
    )
    assert trimming.due_words(rugs.book(plan=rugs.plan(trim_every_rows=1))) == ""
    assert state(20, 1).every == "every 1 row"
    done = state(20, None, trim(15, 9.0), trim(12, 8.0))
    assert (done.headline, done.more, done.warning) == (
        "5 rows since the last trimming",
        "Trimmed up to row 15.",
        "",
    )
    assert [(line.record_id, line.words, line.note) for line in done.lines] == [
        ("t15.0", "up to row 15, left at 9 mm", "20 Nov"), ("t12.0", "up to row 12, left at 8 mm", "20 Nov"),
    ]  # fmt: skip
    assert state(20, None, trim(15, 9.5), trim(12, 8.0)).warning == (
        "The trimmed heights differ by 1.5 mm. Check the pile at both edges and in the middle."
    )
    assert [line.record_id for line in state(20, None, trim(15, born=1), trim(15, born=2)).lines] == [
        "t15.2",
        "t15.1",
    ]
    assert trimming.with_interval(rugs.plan(), 30).trim_every_rows == 30
    assert len(done.cautions) == 3
    assert done.advice.startswith("Brush the pile up, hold the shears flat")


# --- a picture that is read


def test_a_reading_in_full() -> None:
    cells = np.zeros((120, 80), dtype=np.uint8)
    cells[:80] = 1
    doubted = np.zeros(cells.shape, dtype=bool)
    doubted[0, :2] = True
    reading: Any = SimpleNamespace(
        cells=cells, palette=("#EFE6D2", "#9B2F25"), doubted=doubted, confidence=doubted, asks=(), sure=1.0, is_sure=True,
        knots_across=80, rows=120,
    )  # fmt: skip
    state = build_reading_state(
        reading, ("Which way?",), frozenset(("knots",)), blank_form(TODAY, unit="inch")
    )
    # 80 knots and 120 rows at 40 in 10 cm are 20 x 30 cm; 40 in 10 cm are 10.16 an inch.
    assert state.size == "That weaves 7.9 × 11.8 in at 10.2 × 10.2 per inch."
    assert state.verdict == "The size and the colours are clear; 2 squares are not. Look at them first."
    clear = SimpleNamespace(**{**vars(reading), "doubted": np.zeros(cells.shape, dtype=bool)})
    sure = build_reading_state(clear, (), frozenset(), blank_form(TODAY))
    assert sure.verdict == "Everything fits. Look once whether it is so."
    assert (state.has_doubts, state.mend) == (True, "Look at the 2 doubted squares")
    assert (state.is_sure, state.asks, state.swatches) == (
        True,
        ("Which way?",),
        (("#9B2F25", "6,400"), ("#EFE6D2", "3,200")),
    )
    assert [(line.label, line.answer, line.hint) for line in (state.knots, state.rows, state.colours)] == [
        ("Knots across", "80", "as you said"), ("Rows", "120", "as found"), ("Colours", "2", "as found"),
    ]  # fmt: skip
    by_hand = build_reading_state(reading, (), frozenset(("rows", "colours")), blank_form(TODAY))
    assert [line.hint for line in (by_hand.knots, by_hand.rows, by_hand.colours)] == [
        "as found",
        "as you said",
        "as you said",
    ]
    unsure = SimpleNamespace(
        **{**vars(reading), "is_sure": False, "doubted": np.zeros(cells.shape, dtype=bool)}
    )
    state = build_reading_state(unsure, ("Which way?",), frozenset(), blank_form(TODAY))
    assert state.verdict == "Not sure. Please look at this before you take it:"
    assert (state.has_doubts, state.mend) == (False, "Mend single squares")


def test_a_picture_that_is_knotted_in_full() -> None:
    cells = np.array([[0, 1, 1], [1, 1, 1]], dtype=np.uint8)
    state = build_knot_state(KnotWish(1200, colours=12), cells, ("#EFE6D2", "#9B2F25"), 2, blank_form(TODAY))
    assert (state.found, state.size) == (
        "1,200 knots across, 2 rows, 2 colours",
        "That weaves 300 × 0.5 cm at 40 × 40 per 10 cm.",
    )
    assert (state.knots.label, state.knots.answer, state.knots.hint) == (
        "Knots across",
        "1,200",
        "the rows follow the picture",
    )
    assert (state.colours.label, state.colours.answer, state.colours.hint) == ("Colours", "12", "at most")
    assert (state.can_use_yarns, state.swatches) == (False, (("#9B2F25", "5"), ("#EFE6D2", "1")))
    waiting = build_knot_state(KnotWish(80), None, (), 60, blank_form(TODAY, unit="inch"))
    assert (waiting.found, waiting.swatches) == ("80 knots across, 60 rows", ())
    assert waiting.size.startswith("That weaves 7.9 × 5.9 in at ")
    assert waiting.colours.answer == "8"
    knots, rows = build_missing_lines({"knots": 80})
    assert [(line.label, line.answer) for line in (knots, rows)] == [
        ("Knots across", "80"),
        ("Rows", "not counted yet"),
    ]
    knots, rows = build_missing_lines({"rows": 1200})
    assert (knots.answer, rows.answer) == ("not counted yet", "1,200")
    assert way_words(1200, 80, 600, -2) == "80 × 1,200, below"
    assert way_words(1200, 80, -600, 0) == "80 × 1,200, above"
    assert way_words(60, 80, 1, 40) == "80 × 60, to the right"
    assert way_words(60, 80, 1, -40) == "80 × 60, to the left"
    assert view_words() == (
        ("Squares", "squares"),
        ("Corners", "corners"),
        ("Cut out", "crop"),
        ("Knots", "knots"),
    )


# --- the finish


def test_a_day_of_the_month_in_full_and_the_marks_below_it() -> None:
    rug = rugs.book(rugs.session(1, 4), rugs.session(2, 2), rugs.session(3, -1), plan=rugs.plan(wished_day=date(2026, 11, 28)),
                    days_off=(DaysOff(id="d", rug_id=None, first_day=date(2026, 11, 10), last_day=date(2026, 11, 11)),))  # fmt: skip
    answers = told.answers(
        finish=FinishAnswer(middle=date(2026, 11, 29), early=date(2026, 11, 28), late=date(2026, 11, 30))
    )
    month = finish.build_month_state(rug, answers, date(2026, 11, 15), TODAY)
    days = {on.day.day: on for on in month.days if on.in_month}
    assert (len(month.days), month.days[-1].in_month, month.weekdays) == (
        42,
        False,
        ("M", "T", "W", "T", "F", "S", "S"),
    )
    assert [(days[at].rows, days[at].woven, days[at].share) for at in (2, 3, 4, 5)] == [
        (4, True, 1.0), (2, True, 0.5), (-1, False, 0.0), (0, False, 0.0),
    ]  # fmt: skip
    assert [at for at, on in days.items() if on.off] == [10, 11]
    assert [at for at, on in days.items() if on.today] == [25]
    assert [at for at, on in days.items() if on.in_range] == [28, 29, 30]
    assert ([at for at, on in days.items() if on.middle], [at for at, on in days.items() if on.wished]) == (
        [29],
        [28],
    )
    assert finish.legend((month,)) == (
        ("woven", "woven"), ("off", "day off"), ("today", "today"), ("range", "last row, likely"), ("middle", "last row, about here"),
        ("wished", "target date"),
    )  # fmt: skip
    bare = finish.build_month_state(rugs.book(), told.answers(finish=None), date(2027, 3, 1), TODAY)
    assert finish.legend((bare,)) == ()
    assert [finish.other_month(date(2026, 11, 15), months) for months in (1, 2, -11)] == [
        date(2026, 12, 1), date(2027, 1, 1), date(2025, 12, 1),
    ]  # fmt: skip


def test_what_a_day_tells() -> None:
    rug = rugs.book(rugs.session(1, 4, hours=2.0), rugs.session(1, 2, hours=None, id="again"), rugs.session(3, -1, hours=None),
                    plan=rugs.plan(wished_day=date(2026, 11, 30)),
                    days_off=(DaysOff(id="d", rug_id=None, first_day=date(2026, 11, 10), last_day=date(2026, 11, 11), reason="market"),
                              DaysOff(id="e", rug_id=None, first_day=date(2026, 12, 1), last_day=date(2026, 12, 1))))  # fmt: skip
    answers = told.answers(finish=FinishAnswer(middle=date(2026, 11, 28), early=date(2026, 11, 27), late=date(2026, 11, 29),
                                               ready=date(2026, 11, 30)))  # fmt: skip

    def said(month: int, day: int) -> str:
        return finish.day_words(rug, answers, date(2026, month, day), TODAY)

    assert said(11, 2) == "Monday, 2 November: +6 rows in 2 h"
    assert said(11, 4) == "Wednesday, 4 November: −1 row"
    assert said(11, 5) == "Thursday, 5 November: no session"
    assert said(11, 10) == "Tuesday, 10 November: no session; day off: market"
    assert said(11, 25) == "Wednesday, 25 November: today"
    assert said(11, 26) == "Thursday, 26 November"
    assert said(11, 27) == "Friday, 27 November: the last row may come here"
    assert said(11, 28) == "Saturday, 28 November: the last row about here"
    assert said(11, 30) == "Monday, 30 November: ready, with the steps after weaving; target date"
    assert said(12, 1) == "Tuesday, 1 December: day off"


def test_what_can_be_done_with_a_day() -> None:
    rug = rugs.book(
        rugs.session(23, 4), days_off=(DaysOff(id="d", rug_id=None, first_day=TODAY, last_day=TODAY),)
    )
    feast = DaysOff(
        id="f", rug_id=None, first_day=date(2026, 12, 25), last_day=date(2026, 12, 25), reason="Feast"
    )
    answers = told.answers(finish=None)

    def offers(on: date, of: Any = rug) -> tuple[str, bool]:
        day = finish.build_day_offers(of, (feast,), answers, on, TODAY)
        return day.change, day.off

    assert offers(TODAY) == ("Weave on this day", True)
    assert offers(date(2026, 11, 26)) == ("Take the day off", False)
    # Sunday: there is nothing to take off, unless somebody wove on one. A day off from before can be taken back.
    sunday = date(2026, 11, 29)
    assert offers(sunday) == ("", False)
    assert finish.build_day_offers(rug, (), answers, sunday, TODAY).sentence == (
        "Sunday, 29 November\nNo weaving day by the plan."
    )
    wove = replace(rug, sessions=(rugs.session(22, 4, day=date(2026, 11, 22)),))
    assert offers(sunday, wove) == ("Take the day off", False)
    off = DaysOff(id="s", rug_id=None, first_day=sunday, last_day=sunday)
    assert offers(sunday, replace(rug, days_off=(off,))) == ("Weave on this day", True)
    assert offers(date(2026, 11, 24)) == ("", False)
    assert offers(TODAY, replace(rug, sessions=(rugs.session(24, 4, day=TODAY),))) == ("", False)
    assert offers(date(2026, 11, 26), replace(rug, plan=rugs.plan(stage=RugStage.FINISHED))) == ("", False)
    assert offers(date(2026, 11, 26), replace(rug, plan=rugs.plan(finished_day=TODAY))) == ("", False)
    holiday = finish.build_day_offers(rug, (feast,), answers, feast.first_day, TODAY)
    assert (holiday.sentence, holiday.change) == (
        ("Friday, 25 December: day off: Feast\nA public holiday of the country in your settings. To "
        "weave on it, choose another country there."), "",
    )  # fmt: skip


def test_the_finish_page_in_full() -> None:
    steps = (
        AfterStep(id="b", rug_id="rug", number=2, name="Shear", days=1.5),
        AfterStep(id="a", rug_id="rug", number=1, name="Wash", days=4.0, done_day=TODAY),
    )
    rug = rugs.book(rugs.session(1, 50), plan=rugs.plan(wished_day=date(2027, 2, 1)), after_steps=steps)
    last = FinishAnswer(
        middle=date(2027, 1, 20), early=date(2027, 1, 12), late=date(2027, 1, 31), ready=date(2027, 1, 22), hours_left=90.0,
        chance_of_wish=0.9, rows_a_day_for_wish=4.26,
        marks=(("middle", 100, date(2026, 12, 9), date(2026, 12, 12), date(2027, 1, 2)),),
    )  # fmt: skip
    answers = told.answers(
        finish=last,
        basis=Basis(sessions=10, from_plan=False, rests_on=("Ten sessions.",), moved_by=("Slower.",)),
    )
    state = finish.build_finish_state(rug, answers)
    assert (state.label, state.figure, state.span) == (
        "Last row, from 10 sessions",
        "20 January 2027",
        "likely 12 Jan to 31 Jan 2027",
    )
    assert (state.ready, state.left) == (
        "Ready 22 January 2027, with the steps after weaving.",
        "About 90 h at the loom are left.",
    )
    chance = words.chance_words(0.9)
    assert (state.wish, state.wish_words) == (
        "1 February 2027", f"The last row by then: {chance}. That needs 4.3 rows on every weaving day.",
    )  # fmt: skip
    assert [(line.name, line.day, line.span) for line in state.marks] == [
        ("Middle, row 100", "12 Dec", "9 Dec to 2 Jan 2027")
    ]
    assert [(step.step_id, step.name, step.days, step.done, step.note) for step in state.steps] == [
        ("a", "Wash", "4 days", True, "done 25 Nov"), ("b", "Shear", "1.5 days", False, "1.5 days"),
    ]  # fmt: skip
    # 150 rows in 90 h; eight weeks to 20 January.
    assert state.rests_on == (
        "150 rows to come at 36 min a row: 90 h. From the plan and your one session with hours (3.6 min a row).",
        "90 h at 11.2 h a week, days off included: 8 weeks, until 20 January 2027. So far it was 3 h in 1 day (planned: 15 h a week).",
        "Ten sessions.",
        "“Likely” holds in four cases of five.",
    )  # fmt: skip
    assert (state.moved_by, state.woven, state.can_finish, state.size, state.size_words, state.size_off) == (
        ("Slower.",), False, False, "", "", False,
    )  # fmt: skip
    open_wish = finish.build_finish_state(replace(rug, plan=rugs.plan()), answers)
    assert (open_wish.wish, open_wish.wish_words) == ("", "Set a date to see how likely it is.")
    past = finish.build_finish_state(replace(rug, plan=rugs.plan(wished_day=date(2026, 11, 24))), answers)
    assert past.wish_words == "That day is past."
    one = finish.build_finish_state(
        rug, replace(answers, finish=replace(last, rows_a_day_for_wish=1.04, chance_of_wish=None))
    )
    assert one.wish_words == "That needs 1 row on every weaving day."
    soon = finish.build_finish_state(
        rug, replace(answers, finish=replace(last, ready=last.middle, middle=date(2026, 12, 1)))
    )
    assert (
        soon.rests_on[1]
        == "90 h in 7 days, days off included, until 1 December: 12.9 h a day. Lately it was 3 h an evening."
    )


def test_the_finish_page_once_every_row_is_woven() -> None:
    steps = (AfterStep(id="a", rug_id="rug", number=1, name="Wash", days=3.5),)
    rug = rugs.book(rugs.session(1, 200), after_steps=steps)
    state = finish.build_finish_state(rug, told.answers(finish=None, finished=True))
    assert (state.label, state.figure, state.span, state.left) == ("Last row woven", "2 November", "", "")
    assert state.ready == "Ready about 29 November: 3.5 days of work after weaving are still open."
    assert (state.woven, state.can_finish, state.rests_on, state.size) == (
        True,
        True,
        (),
        "to be 40 × 80 cm finished",
    )
    assert (state.size_words, state.size_off) == (
        "Measure it when it is washed and dry: the knotted part. Allowed: ± 3 cm in width, ± 3 cm in length."
        " That is the usual allowance for hand-knotted rugs (Turkish standard TS 43).", False,
    )  # fmt: skip
    assert [(r.field, r.name, r.answer, r.weighed) for r in state.readings] == [
        ("unwashed_width_cm", "Unwashed width", "not measured", False), ("finished_width_cm", "Finished width", "not measured", False),
        ("unwashed_length_cm", "Unwashed length", "not measured", False), ("finished_length_cm", "Finished length", "not measured", False),
        ("unwashed_g", "Unwashed weight", "not weighed", True), ("washed_g", "Washed weight", "not weighed", True),
    ]  # fmt: skip
    measured = rugs.plan(
        stage=RugStage.FINISHED, finished_width_cm=45.0, finished_length_cm=80.0, washed_g=1800.0
    )
    state = finish.build_finish_state(
        replace(rug, plan=measured, after_steps=()), told.answers(finish=None, finished=True), "inch"
    )
    assert (state.can_finish, state.size_off, state.ready) == (False, True, "")
    assert [r.answer for r in state.readings] == [
        "not measured",
        "17.7 in",
        "not measured",
        "31.5 in",
        "not weighed",
        "1.8 kg",
    ]
    silent = finish.build_finish_state(rug, told.answers(finish=None, silent_days=70))
    assert (silent.label, silent.figure, silent.span) == (
        "Nothing entered for 70 days",
        "no date",
        "Log a session to get a date again.",
    )


# --- order and costs


def agreed(*shown: OrderItem, **changes: Any) -> Order:
    fields = {
        "id": "o", "rug_id": "rug", "customer": "the miller", "promised_day": date(2027, 3, 6), "price": 2400.5,
        "way": DeliveryWay.BROUGHT, "address": "behind the ford", "note": "whisper",
    }  # fmt: skip
    return Order(**{**fields, "shown": shown, **changes})


def paid(amount: float, kind: PaymentKind = PaymentKind.DEPOSIT, **changes: Any) -> Payment:
    return Payment(
        **{
            "id": f"p{amount}",
            "rug_id": "rug",
            "day": date(2026, 10, 1),
            "amount": amount,
            "kind": kind,
            **changes,
        }
    )


def test_the_page_of_an_order_in_full() -> None:
    rug = rugs.book(rugs.session(1, 5), orders=(agreed(OrderItem.CUSTOMER, OrderItem.PAID),),
                    payments=(paid(600.25, note="in cash"), paid(100.0, PaymentKind.REST)))  # fmt: skip
    answers = told.answers(finish=replace(told.answers().finish, chance_of_promise=0.5))
    state = order.build_order_state(rug, answers, "EUR")
    assert (state.rug_name, state.what_for, state.promise, state.late) == (
        "Little field", "", "Ready by then: even chance.", False,
    )  # fmt: skip
    assert [(line.field, line.label, line.answer, line.hint) for line in (*state.agreed, *state.delivery)] == [
        ("customer", "For whom", "the miller", ""), ("promised_day", "Promised day", "6 March 2027", ""),
        ("price", "Agreed price", "EUR 2,400.50", ""), ("note", "Note", "whisper", ""),
        ("way", "How it gets there", "brought there", ""),
        ("address", "Address, or how to reach them", "behind the ford", ""), ("delivered_day", "Delivered", "not yet", ""),
    ]  # fmt: skip
    assert (state.target, state.paid, state.owed_label, state.owed) == (
        "Take 6 March 2027 as the target date", "EUR 700.25", "Still owed", "EUR 1,700.25",
    )  # fmt: skip
    assert [(line.record_id, line.words, line.note, line.amount) for line in state.payments] == [
        ("p100.0", "Rest", "1 October", "EUR 100.00"), ("p600.25", "Deposit", "1 October · in cash", "EUR 600.25"),
    ]  # fmt: skip
    assert [(part.label, part.shown) for part in state.shown] == [
        ("For", True), ("Promised day", False), ("Price", False), ("Paid", True), ("Still owed", False), ("Delivery", False),
    ]  # fmt: skip
    assert state.shown_words == "The record tells: For and Paid."
    worried = order.build_order_state(
        rug, replace(answers, finish=replace(answers.finish, chance_of_promise=0.49))
    )
    assert worried.late


def test_an_order_of_which_nothing_is_said() -> None:
    state = order.build_order_state(rugs.book(rugs.session(1, 5)), told.answers())
    assert state.what_for.startswith("Who the rug is for, the promised day, the price and what is paid.")
    assert [(line.answer, line.hint) for line in (*state.agreed, *state.delivery)] == [
        ("", "if you like"), ("", "if you like"), ("", "if you like"), ("", "if you like"), ("", "if you like"),
        ("", "if you like"), ("not yet", ""),
    ]  # fmt: skip
    assert (state.promise, state.late, state.target, state.paid, state.owed) == (
        "",
        False,
        "",
        "0.00",
        "no price agreed yet",
    )
    assert state.shown_words == "The record tells nothing of the order."
    assert order.build_order_state(rugs.book(payments=(paid(1.0),)), told.answers()).what_for == ""


def test_how_a_promise_stands_when_there_is_no_chance_to_tell() -> None:
    def promise(promised: date, open_days: float, **changes: Any) -> tuple[str, bool]:
        steps = (AfterStep(id="a", rug_id="rug", number=1, name="Wash", days=open_days),) if open_days else ()
        rug = rugs.book(rugs.session(1, 5), orders=(agreed(promised_day=promised),), after_steps=steps)
        state = order.build_order_state(rug, told.answers(**changes))
        return state.promise, state.late

    assert promise(date(2026, 11, 24), 0.0) == ("That day is past, and the rug is not delivered.", True)
    assert promise(TODAY, 0.0, finish=None) == ("The rug is ready.", False)
    assert promise(date(2026, 11, 29), 3.5, finish=None) == (
        "Every row is woven: ready about 29 November.",
        False,
    )
    assert promise(date(2026, 11, 28), 3.5, finish=None) == (
        "Every row is woven: ready about 29 November.",
        True,
    )
    assert promise(TODAY, 0.0, finish=None, silent_days=70) == (
        "There is no date for the last row yet, so its chance is not known.", False,
    )  # fmt: skip
    assert promise(date(2027, 3, 6), 0.0) == ("", False)
    chance = replace(told.answers().finish, chance_of_promise=0.1)
    said, late = promise(date(2027, 3, 6), 3.5, finish=chance)
    assert said == f"Ready by then: {words.chance_words(0.1)}. 4 days of work after weaving are counted in."
    assert late


def test_what_the_record_tells_of_an_order() -> None:
    rug = rugs.book(orders=(agreed(*OrderItem, delivered_day=TODAY),), payments=(paid(600.25),))
    assert order.facts_told(rug, "EUR", TODAY) == (
        Fact("For", "the miller"), Fact("Promised day", "6 March 2027"), Fact("Price", "EUR 2,400.50"),
        Fact("Paid", "EUR 600.25, deposit, 1 October"), Fact("Still owed", "EUR 1,800.25"),
        Fact("Delivery", "brought there, behind the ford, delivered 25 November"),
    )  # fmt: skip
    assert {fact.more for fact in order.facts_told(rug, "EUR", TODAY)} == {""}
    open_price = rugs.book(
        orders=(
            agreed(
                *OrderItem, price=None, customer="", way=DeliveryWay.UNSAID, address="", promised_day=None
            ),
        )
    )
    assert order.facts_told(open_price, "EUR", TODAY) == ()
    assert order.order_values(rug, "EUR") == {
        "currency": "EUR", "customer": "the miller", "promised_day": "2027-03-06", "price": "2400.50",
        "paid": [{"day": "2026-10-01", "amount": "600.25", "kind": "deposit"}], "owed": "1800.25",
        "delivery": {"way": "brought", "address": "behind the ford", "delivered_day": "2026-11-25"},
    }  # fmt: skip
    assert order.order_values(rugs.book(orders=(agreed(),))) is None
    assert (order.tells_price(rug), order.tells_promise(rug), order.tells_price(open_price)) == (
        True,
        True,
        False,
    )
    assert not order.tells_promise(rugs.book())
    over = rugs.book(orders=(agreed(OrderItem.OWED, price=100.0),), payments=(paid(100.0),))
    assert order.facts_told(over, "", TODAY) == (Fact("Still owed", "nothing: all is paid"),)


def test_the_page_of_costs_in_full() -> None:
    rug = replace(
        small_book(),
        wages=(Wage(id="w", rug_id="rug", basis=WageBasis.ROWS, amount=2.5), Wage(id="v", rug_id="rug", basis=WageBasis.ROWS, amount=3.0, weaver_id="bo", first_day=date(2027, 1, 1))),
        costs=(Cost(id="c", rug_id="rug", day=date(2026, 11, 20), kind=CostKind.FINISHING, amount=31.25, note="washing"),
               Cost(id="d", rug_id="rug", day=TODAY, kind=CostKind.OTHER, amount=10.0)),
        pricings=(Pricing(id="p", rug_id="rug", margin=0.4, shown=PriceShown.RECORD),),
    )  # fmt: skip
    state = build_costs_state(rug, small_answers(), "TRY")
    assert [(line.record_id, line.words, line.note, line.amount) for line in state.wages] == [
        ("w", "2.5 for each row", "everybody · from the first row", ""),
        ("v", "3 for each row", "Bo · from 1 January 2027", ""),
    ]  # fmt: skip
    assert [(line.record_id, line.words, line.note, line.amount) for line in state.spending] == [
        ("d", "Other costs", "25 November", "TRY 10.00"), ("c", "Finishing", "20 November · washing", "TRY 31.25"),
    ]  # fmt: skip
    assert state.price_note == "40 % of it is left when the cost at the end is paid; it stands in the record"
    assert state.currency == "Turkish Lira (TRY)"
    assert state.rules.startswith("Local rules say which wages are lawful")
    # Three rows at 2.5; 41.25 were spent beside.
    assert [(line.label, line.so_far, line.at_end) for line in state.lines][1:] == [
        ("Wages", "TRY 7.50", "TRY 10"), ("Finishing", "TRY 31.25", "TRY 31.25"), ("Other costs", "TRY 10.00", "TRY 10.00"),
    ]  # fmt: skip
    text = costs_text(rug, small_answers(), "TRY").splitlines()
    assert text[0] == "Costs"
    assert text[1] == f"  {'so far':<24} {state.so_far}"
    assert text[2].startswith(f"  {'at the end':<24} {state.at_end}")
    assert f"  {'Wages':<24} TRY 7.50, at the end TRY 10" in text
    assert f"  {'Finishing':<24} TRY 31.25" in text
    assert f"  {'price':<24} {state.price} ({state.price_note})" in text
    bare = build_costs_state(replace(rug, pricings=()), small_answers(), "TRY")
    assert (bare.price, bare.price_note) == (
        "",
        "Enter a margin, and the price follows from the cost at the end.",
    )
    silent = replace(small_answers(), finish=None, silent_days=90)
    by_day = replace(rug, wages=(Wage(id="w", rug_id="rug", basis=WageBasis.DAYS, amount=20.0),))
    unknown = build_costs_state(by_day, silent, "TRY")
    assert (unknown.at_end, unknown.at_end_range, unknown.price, unknown.price_note) == (
        "not known yet: the last row has no date", "", "", "No price yet: the cost at the end cannot be said.",
    )  # fmt: skip
    assert build_costs_state(rug, small_answers()).currency == "not named"


def test_who_earned_what_and_the_currencies() -> None:
    rug = replace(
        rugs.book(rugs.session(1, 5), rugs.session(2, 3)),
        wages=(Wage(id="w", rug_id="rug", basis=WageBasis.ROWS, amount=2.5),),
    )
    (ann,) = build_costs_state(rug, told.answers(), "EUR").earnings
    # Eight rows of 100 knots.
    assert (ann.name, ann.amount, ann.done, ann.wage) == (
        "Ann",
        "EUR 20.00",
        "2 days, 800 knots (as many as 8 rows)",
        "2.5 for each row",
    )
    (unpaid,) = build_costs_state(replace(rug, wages=()), told.answers()).earnings
    assert (unpaid.amount, unpaid.wage) == ("", "no wage entered")
    by_day = replace(rug, wages=(Wage(id="w", rug_id="rug", basis=WageBasis.DAYS, amount=20.0),))
    (days,) = build_costs_state(by_day, told.answers()).earnings
    assert (days.amount, days.done.split(",")[0]) == ("40.00", "2 days")
    nobody = replace(rugs.book(rugs.session(1, 5, weavers=())), wages=rug.wages)
    (none,) = build_costs_state(nobody, told.answers()).earnings
    assert (none.name, none.done) == ("Not shared out", "500 knots (as many as 5 rows), 1 day names nobody")
    assert none.wage.startswith("Sessions that name nobody")
    # Who never named a weaver wove alone: nothing is to be corrected.
    (alone,) = build_costs_state(replace(nobody, weavers=()), told.answers()).earnings
    assert (alone.name, alone.wage, alone.amount) == ("Who wove", "2.5 for each row", "12.50")
    assert currency_words("") == "Prices name no currency."
    assert currency_words("TRY") == "Prices are in Turkish Lira (TRY)."
    assert currency_choices()[0] == ("not named", "")
    assert ("Euro (EUR)", "EUR") in currency_choices()
    assert currency_choices()[1:] == sorted(currency_choices()[1:])


# --- the record


def test_rows_by_month_where_weeks_are_too_many() -> None:
    months = (
        rugs.session(1, 5, day=date(2024, 11, 4)),
        rugs.session(2, 3, day=date(2025, 1, 6)),
        rugs.session(3, 2, day=date(2026, 2, 2), id="c"),
    )
    rug = rugs.book(*months)
    assert rows_by_month(rugs.book()) == ()
    by_month = rows_by_month(rug)
    # November 2024 to February 2026: sixteen months.
    assert (len(by_month), by_month[0], by_month[1], by_month[2], by_month[-1]) == (
        16, (date(2024, 11, 1), 5), (date(2024, 12, 1), 0), (date(2025, 1, 1), 3), (date(2026, 2, 1), 2),
    )  # fmt: skip
    title, bars = chart_of_rows(rug)
    assert (title, len(bars)) == ("Rows by month", 16)
    assert [(bar.rows, bar.label) for bar in bars[:3]] == [(5, "Nov"), (0, "Dec"), (3, "Jan 2025")]
    longer = rugs.book(rugs.session(1, 5, day=date(2024, 10, 7)), *months[1:])
    _title, bars = chart_of_rows(longer)
    # Seventeen months: every second one is named.
    assert [bar.label for bar in bars[:4]] == ["Oct", "", "Dec", ""]
    title, bars = chart_of_rows(rugs.book(rugs.session(1, 5), rugs.session(20, 2)))
    assert (title, [(bar.first_day, bar.rows, bar.label) for bar in bars]) == (
        "Rows by week", [(date(2026, 11, 2), 5, "2 Nov"), (date(2026, 11, 9), 0, "9 Nov"), (date(2026, 11, 16), 2, "16 Nov")],
    )  # fmt: skip
    weeks = rugs.book(rugs.session(1, 5), rugs.session(1, 2, id="z", day=date(2027, 1, 25)))
    _title, bars = chart_of_rows(weeks)
    assert [bar.label for bar in bars] == [
        "2 Nov",
        "",
        "16 Nov",
        "",
        "30 Nov",
        "",
        "14 Dec",
        "",
        "28 Dec",
        "",
        "11 Jan",
        "",
        "25 Jan",
    ]
    # Sixty weeks are drawn week by week, one more by months.
    assert (
        chart_of_rows(rugs.book(rugs.session(1, 5), rugs.session(1, 2, id="z", day=date(2027, 12, 20))))[0]
        == "Rows by week"
    )
    assert (
        chart_of_rows(rugs.book(rugs.session(1, 5), rugs.session(1, 2, id="z", day=date(2027, 12, 27))))[0]
        == "Rows by month"
    )


def test_who_sat_at_the_loom_how_long_and_which_knots_were_hers() -> None:
    alone = rugs.book(rugs.session(1, 5, hours=2.5), rugs.session(2, 3, hours=None, weavers=("bo",)))
    assert [(who.name, who.days, who.hours, who.knots) for who in weaver_entries(alone)] == [
        ("Ann", "1 day", "2.5 h", ""), ("Bo", "1 day", "", ""),
    ]  # fmt: skip
    team = rugs.session(3, 2, weavers=("ann", "bo"), places=(("ann", 1, 60), ("bo", 61, 100)), hours=1.0)
    told_places = rugs.book(rugs.session(1, 5, hours=2.5), rugs.session(2, 1, weavers=()), team)
    entries = [(who.name, who.days, who.hours, who.knots) for who in weaver_entries(told_places)]
    # Ann alone 5 rows of 100 and 60 knots in two; Bo 40 in two; of whose the row is that nobody named, whom the rug is handed to need not know.
    assert entries == [
        ("Ann", "2 days", "3.5 h", "620 knots"),
        ("Bo", "1 day", "1 h", "80 knots"),
    ]


# --- the shape of the cloth


def shape_rug(**changes: Any):
    measured = Measurement(**{"id": "m", "rug_id": "rug", "day": TODAY, "row": 100, "length_cm": 40.0, "width_cm": 40.0,
                              "left_cm": 40.0, "right_cm": 42.0, "born": 1, **changes})  # fmt: skip
    return rugs.book(rugs.session(1, 100), measurements=(measured,))


def course(now: float, end: float, sd: float = 0.1, read: float | None = None) -> Course:
    """A course of three readings, the last of them at row 100; it is what is believed unless `read` says otherwise."""
    return Course(
        readings=3,
        last_row=100,
        last_cm=now if read is None else read,
        last_sd_cm=sd,
        last_end_cm=end if read is None else read + end - now,
        now_cm=now,
        now_sd_cm=sd,
        end_cm=end,
        end_sd_cm=sd,
    )


def shape(**changes: Any) -> ShapeAnswer:
    fields = {
        "planned_width_cm": 41.6,
        "allowed_width_cm": 3.0,
        "width": None,
        "ahead": None,
        "lean": None,
        "rows_left": 100,
    }
    return ShapeAnswer(**{**fields, **changes})


def test_a_side_that_is_ahead_is_said_with_what_to_do_about_it() -> None:
    from tracker.forecast.thresholds import SHAPE_SURE_SDS

    about = f"±\u00a0{round(SHAPE_SURE_SDS * 0.1, 1):g} cm"
    state = build_shape_state(shape_rug(), told.answers(shape=shape(ahead=course(2.0, 3.0))))
    assert state.headline == "Out of shape at row 100"
    assert state.warnings == (
        f"The right side is 2 cm ahead of the left (measured at row 100, {about}). Going on like this, it is about 3 cm at the last row.",
    )
    (advice,) = state.advice
    assert advice.startswith("The right is ahead: beat harder there")
    # 20 mm over 100 rows.
    assert advice.endswith(" Correct 2 mm in every 10 rows, and it will be right at the last one.")
    assert (state.facts, state.rows_left) == ((), "100 rows are left to correct it in.")
    left = build_shape_state(shape_rug(), told.answers(shape=shape(ahead=course(-2.0, -2.0), rows_left=19)))
    assert left.warnings == (f"The left side is 2 cm ahead of the right (measured at row 100, {about}).",)
    assert left.advice[0].endswith("Check that the warp is equally tight on both sides.")
    near = build_shape_state(shape_rug(), told.answers(shape=shape(ahead=course(-0.1, 3.0))))
    assert (near.headline, near.warnings, near.facts) == (
        "In shape at row 100", (),
        (f"At row 100 the left side read 0.1 cm longer. A tape may err by as much ({about}): only what is more is told as off.",),
    )  # fmt: skip
    unsure = build_shape_state(shape_rug(), told.answers(shape=shape(ahead=course(0.1, 3.0, read=0.9))))
    assert unsure.facts == (
        "At row 100 the right side read 0.9 cm longer. With the readings before it that is not sure yet. Measure once more.",
    )
    # The tape alone errs by more than was read, however surely the readings before it are believed.
    wide = replace(course(0.1, 3.0, read=0.9), last_sd_cm=0.5)
    by_tape = build_shape_state(shape_rug(), told.answers(shape=shape(ahead=wide)))
    assert "A tape may err by as much (±\u00a01 cm)" in by_tape.facts[0]
    inches = build_shape_state(shape_rug(), told.answers(shape=shape(ahead=course(0.1, 3.0))), "inch")
    assert inches.facts[0].startswith("Both sides are level"), (
        "what is nothing in the weaver's unit is not told as read"
    )
    level = build_shape_state(shape_rug(), told.answers(shape=shape(ahead=course(0.0, 3.0))))
    assert (level.headline, level.facts, level.warnings, level.rows_left) == (
        "In shape at row 100", (f"Both sides are level, as far as a tape tells ({about}).",), (), "",
    )  # fmt: skip
    woven = build_shape_state(shape_rug(), told.answers(shape=shape(ahead=course(2.0, 3.0), rows_left=0)))
    assert (woven.warnings, woven.facts) == (
        (),
        (f"The right side is 2 cm ahead of the left (measured at row 100, {about}).",),
    )
    one = build_shape_state(shape_rug(), told.answers(shape=shape(ahead=course(2.0, 2.0), rows_left=1)))
    assert one.rows_left == "1 row is left to correct it in."
    leaning = build_shape_state(shape_rug(), told.answers(shape=shape(lean=course(-1.5, -1.5))))
    assert leaning.warnings == (
        f"The rug leans to the left: its upper edge is 1.5 cm too far left (measured at row 100, {about}).",
    )
    right = build_shape_state(shape_rug(), told.answers(shape=shape(lean=course(1.5, 1.0))))
    assert right.warnings == (
        f"The rug leans to the right: its upper edge is 1.5 cm too far right (measured at row 100, {about}).",
    )
    hardly = build_shape_state(shape_rug(), told.answers(shape=shape(lean=course(0.1, 0.1))))
    assert hardly.facts[0].startswith(
        "At row 100 the upper edge stood 0.1 cm too far right by the diagonals. "
    )
    straight = build_shape_state(shape_rug(), told.answers(shape=shape(lean=course(0.0, 0.0))))
    assert straight.facts == (f"The rug stands straight, as far as a tape tells ({about}).",)


def test_what_was_measured_is_told_as_measured_and_not_as_believed() -> None:
    """A width of 15 cm was told as 15.3: what is believed after all readings."""
    narrow = course(15.3, 14.8, read=15.0)
    state = build_shape_state(
        shape_rug(), told.answers(shape=shape(planned_width_cm=16.0, allowed_width_cm=0.5, width=narrow))
    )
    assert state.warnings == (
        "The cloth draws in: 15 cm (measured at row 100, ±\u00a00.2 cm); planned on the loom 16 cm, allowed ± 0.5 cm."
        " Going on like this, it is about 14.5 cm at the last row.",
    )
    assert [(item.words, item.warns) for item in state.brief] == [("15 cm wide, planned 16 cm.", True)]
    ahead = build_shape_state(shape_rug(), told.answers(shape=shape(ahead=course(1.7, 1.7, read=2.0))))
    assert ahead.warnings == (
        "The right side is 2 cm ahead of the left (measured at row 100, ±\u00a00.2 cm).",
    )
    # 20 mm over 100 rows, as the words before it have it.
    assert " Correct 2 mm in every 10 rows" in ahead.advice[0]
    assert ahead.brief[0].words == "The right side is 2 cm ahead."
    lean = build_shape_state(shape_rug(), told.answers(shape=shape(lean=course(-1.2, -1.2, read=-1.5))))
    assert "its upper edge is 1.5 cm too far left (measured at row 100" in lean.warnings[0]
    assert lean.brief[0].words == "It leans 1.5 cm to the left."


def test_a_reading_that_says_the_contrary_of_all_others_is_not_told_for_them() -> None:
    other = build_shape_state(shape_rug(), told.answers(shape=shape(ahead=course(1.7, 1.7, read=-0.1))))
    assert other.warnings == (
        "The right side is 1.7 cm ahead of the left (calculated from all readings, ±\u00a00.2 cm).",
    )


def test_a_width_is_said_beside_what_is_planned_and_allowed() -> None:
    from tracker.forecast.thresholds import SHAPE_SURE_SDS

    about = f"±\u00a0{round(SHAPE_SURE_SDS * 0.1, 1):g} cm"
    beside = "planned on the loom 41.6 cm (40 cm of knots, 1.6 cm of selvedges), allowed ± 3 cm"

    def said(now: float, end: float, **changes: Any):
        return build_shape_state(shape_rug(), told.answers(shape=shape(width=course(now, end), **changes)))

    assert said(41.6, 41.6).facts == (
        f"The width keeps its measure: 41.6 cm (measured at row 100, {about}); {beside}.",
    )
    within = said(40.0, 39.0)
    assert within.facts == (
        f"The cloth draws in: 40 cm (measured at row 100, {about}); {beside}. Going on like this, it is about 39 cm at the last row.",
    )
    assert within.warnings == ()
    narrow = said(40.0, 38.0)
    assert len(narrow.warnings) == 1
    assert narrow.advice[0].startswith("Lay the wefts looser, in larger waves")
    wide = said(45.0, 44.0)
    assert wide.warnings == (f"The cloth grows wider: 45 cm (measured at row 100, {about}); {beside}.",)
    assert wide.advice == (
        "Lay the wefts a little tighter and draw them up at the turns. Check that the warp is tight enough.",
    )
    chart = wide.chart
    assert chart is not None
    assert (chart.title, chart.kind, chart.summary) == (
        "Width along the rug, in cm; the band is allowed",
        "dots",
        "Row 100: 40 cm wide",
    )
    assert (chart.x_range, chart.band) == ((0.0, 200.0), pytest.approx((38.6, 44.6)))
    assert chart.trend == ((100.0, 45.0), (200.0, 44.0))
    assert chart.guide == (41.6, "planned 41.6 cm")
    # From 38.6 to 45 with a twelfth of air, 8 %, at both ends.
    assert chart.y_range == pytest.approx((38.6 - 0.512, 45.0 + 0.512))
    assert [(point.x, point.y) for point in chart.points] == [(100.0, 40.0)]
    inches = build_shape_state(shape_rug(), told.answers(shape=shape(width=course(45.0, 44.0))), "inch").chart
    assert inches is not None
    assert inches.title == "Width along the rug, in inches; the band is allowed"
    assert inches.points[0].y == pytest.approx(40.0 / 2.54)
    assert said(45.0, 44.0, rows_left=0).chart.trend == ()


def test_the_woven_part_is_drawn_with_what_is_off_made_plain() -> None:
    rug = shape_rug(width_cm=None)
    drawing = build_shape_state(rug, told.answers(shape=shape(ahead=course(2.0, 3.0)))).drawing
    assert drawing is not None
    assert (drawing.planned, drawing.diagonals, drawing.top, drawing.left, drawing.right) == (
        (41.6, 40.0),
        False,
        "",
        "40 cm",
        "42 cm",
    )
    # 1 cm up and down at each side; 16 cm, two fifths of the woven 40, are drawn at most: ten times.
    assert drawing.factor == 10
    (low_left, high_left, high_right, low_right) = drawing.outline
    assert (high_left[1], high_right[1]) == pytest.approx((30.0, 50.0))
    assert (low_left[1], low_right[1]) == (0.0, 0.0)
    state = build_shape_state(rug, told.answers(shape=shape(ahead=course(2.0, 3.0))))
    assert state.drawn == "Dashed as planned. What is off is drawn 10 times as large."
    plain = build_shape_state(rug, told.answers(shape=shape(ahead=course(0.0, 0.0))))
    assert (plain.drawn, plain.drawing.factor) == ("Drawn to scale, dashed as planned.", 1)
    assert build_shape_state(rugs.book(), told.answers(shape=shape())).drawing is None


def test_somebody_who_is_not_in_the_book_is_named_so() -> None:
    rug = rugs.book(rugs.session(1, 1, weavers=("gone",)), weavers=(Weaver(id="ann", name="Ann"),))
    assert [who.name for who in weaver_entries(rug)] == ["somebody"]
