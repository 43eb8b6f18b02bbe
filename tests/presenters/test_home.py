"""The first view says where the rug stands, whether the yarn lasts, and when it is done, and never more than it knows."""

from __future__ import annotations

import ast
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from tests.presenters.answers import TODAY, answers, where, yarn
from tests.presenters.rugs import book, plan, session
from tracker.domain.mark import CartoonMark
from tracker.domain.rug import Lot, Preparation, PreparationKind, RugStage, SetAside
from tracker.forecast.answers import Answers, Basis, FinishAnswer, MovedToday, YarnWord
from tracker.forecast.outlook import outlook
from tracker.presenters import home
from tracker.presenters.answer_words import chance_words
from tracker.presenters.finish import build_finish_state
from tracker.presenters.home import build_home_state, what_changed, why_moved
from tracker.presenters.home_state import ASK_ICONS, ASK_PAGES
from tracker.words import day

RUG = book(session(1, 5))
FINISH = FinishAnswer(middle=date(2027, 1, 20), early=date(2027, 1, 12), late=date(2027, 1, 31))


def test_a_rug_that_is_only_planned_says_what_comes_next() -> None:
    planned = book(plan=plan(stage=RugStage.PLANNED))
    fresh = outlook(planned, TODAY)
    state = build_home_state(planned, fresh)
    assert (state.act, state.next_page) == ("Next: buy the yarn", "shopping")
    # Who notes neither yarn nor preparation logs her rows all the same.
    assert [(ask.words, ask.page) for ask in state.asks] == [("Log the session", "session")]
    bought = replace(
        planned,
        lots=tuple(Lot(id=y.id, rug_id="rug", yarn_id=y.id, day=TODAY, mass_g=5000.0) for y in planned.yarns),
    )
    state = build_home_state(bought, outlook(bought, TODAY))
    assert (state.act, state.next_page) == ("Next: balls and warp", "preparation")
    mounted = Preparation(id="p", rug_id="rug", day=TODAY, kind=PreparationKind.WARP, count=1)
    warped = replace(bought, preparations=(mounted,))
    state = build_home_state(warped, outlook(warped, TODAY))
    # Nothing can be knotted of what hangs in skeins; who winds without noting it is one tap from her session.
    assert (state.act, state.next_page) == ("Next: wind balls", "preparation")
    assert [(ask.words, ask.page) for ask in state.asks] == [("Log the session", "session")]
    begun = replace(warped, sessions=(session(1, 5),))
    assert build_home_state(begun, outlook(begun, TODAY)).act == "Log the session"
    ball = Preparation(id="b", rug_id="rug", day=TODAY, kind=PreparationKind.BALLS, yarn_id="red", count=1)
    ready = replace(bought, preparations=(mounted, ball))
    state = build_home_state(ready, outlook(ready, TODAY))
    assert (state.act, state.asks) == ("Log the session", ())
    woven = replace(planned, sessions=(session(1, 5),))
    assert build_home_state(woven, outlook(woven, TODAY)).act == "Log the session"


def test_the_kept_first_view_takes_every_line_that_asks() -> None:
    """One line with an icon that is not listed, and the view kept for the next start was thrown away."""
    source = ast.parse(Path(home.__file__).read_text("utf-8"))
    asks = [
        [word.value for word in call.args[1:3] if isinstance(word, ast.Constant)]
        for call in ast.walk(source)
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == "HomeAsk"
    ]
    told = {(icon, page) for icon, page in (ask for ask in asks if len(ask) == 2)}
    assert len(told) > 5
    assert {icon for icon, _page in told} <= ASK_ICONS
    assert {page for _icon, page in told} <= ASK_PAGES


def test_a_session_of_a_day_to_come_is_named_where_the_date_stands_and_leads_to_its_correction() -> None:
    told = answers()
    stray = replace(RUG.sessions[-1], id="stray", day=told.day + timedelta(days=40))
    rug = replace(RUG, sessions=(*RUG.sessions, stray))
    ask = build_home_state(rug, told).conditions_to_open[0]
    assert (ask.page, ask.session_id) == ("session", "stray")
    assert (
        ask.words
        == f"A session is dated {day(stray.day, told.day)}, which is still to come. Correct its day."
    )
    assert build_finish_state(rug, told).left.startswith(ask.words)
    # Tomorrow it may be where the other phone stands.
    near = replace(stray, day=told.day + timedelta(days=1))
    assert build_home_state(replace(RUG, sessions=(*RUG.sessions, near)), told).conditions == ()


def test_a_rug_whose_only_session_is_dated_ahead_has_the_date_of_one_woven_today() -> None:
    """The first evening of a rug, dated a year ahead by a slip, put its last row thirteen months off."""
    in_a_year = TODAY + timedelta(days=365)
    told, right = (outlook(book(session(1, 5, day=on)), TODAY).finish for on in (in_a_year, TODAY))
    assert told == right
    # Where the rug was to begin then, too, the phone's clock is behind.
    later = book(session(1, 5, day=in_a_year), plan=plan(start_day=in_a_year))
    behind = outlook(later, TODAY).finish
    assert behind is not None
    assert behind.middle > in_a_year


def test_the_row_and_the_share_of_the_knots_are_said() -> None:
    state = build_home_state(RUG, answers())
    assert (state.row_figure, state.row_of, state.knots) == ("50", "of 200 rows woven", "25 % of the knots")
    assert state.share == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (5, "+5 rows in the last session"),
        (1, "+1 row in the last session"),
        (0, "+0 rows in the last session"),
        (-1, "−1 row in the last session"),
        (-3, "−3 rows in the last session"),
        (None, ""),
    ],
)
def test_rows_unpicked_are_said_as_lost(rows: int | None, said: str) -> None:
    assert build_home_state(RUG, answers(where=where(rows_last_session=rows))).last == said


@pytest.mark.parametrize(
    ("answer", "said", "tone"),
    [
        (yarn("red"), "100 g spare", "green"),
        (yarn("red", YarnWord.TIGHT, on_hand_g=410.0, order_g=0.0), "just 10 g spare", "ink"),
        # The list proposes to buy some for safety: so does the tile.
        (yarn("red", YarnWord.TIGHT, on_hand_g=410.0, order_g=250.0), "to buy 250 g", "ink"),
        (yarn("red", YarnWord.TIGHT, on_hand_g=390.0, short_g=10.0), "about 10 g short", "ink"),
        (yarn("red", YarnWord.SHORT, on_hand_g=60.0, short_g=340.0), "short 340 g", "madder"),
        (yarn("red", YarnWord.NOT_BOUGHT, on_hand_g=0.0, order_g=450.0), "to buy 450 g", "madder"),
        (yarn("red", YarnWord.DONE, needed_g=0.0), "done", "soft"),
    ],
)
def test_a_yarn_is_said_in_grams_and_in_a_colour(answer, said: str, tone: str) -> None:
    (line,) = build_home_state(RUG, answers(yarns=(answer,))).yarns
    assert (line.word, line.tone) == (said, tone)


def test_the_gauge_of_a_yarn_is_what_is_on_hand_of_what_is_needed_and_never_more_than_full() -> None:
    lines = build_home_state(RUG, answers(yarns=(yarn("red", on_hand_g=100.0), yarn("weft")))).yarns
    assert [line.share for line in lines] == [pytest.approx(0.25), 1.0]
    (done,) = build_home_state(RUG, answers(yarns=(yarn("red", YarnWord.DONE, needed_g=0.0),))).yarns
    assert done.share == 1.0


def test_yarns_stand_worst_first_as_the_answers_do_and_one_no_longer_planned_is_left_out() -> None:
    lines = build_home_state(RUG, answers(yarns=(yarn("weft"), yarn("gone"), yarn("blue")))).yarns
    assert [(line.number, line.name) for line in lines] == [("", "Ground weft"), ("2", "Indigo")]


def test_the_target_is_said_only_when_there_is_one() -> None:
    wishing = replace(RUG, plan=plan(wished_day=date(2027, 1, 15)))
    asked = answers(finish=replace(FINISH, chance_of_wish=0.31))
    assert build_home_state(wishing, asked).wish == "target 15 Jan"
    assert build_home_state(RUG, asked).wish == ""
    assert build_home_state(wishing, answers()).wish == ""


@pytest.mark.parametrize(
    ("chance", "said"), [(0.0, "very unlikely"), (0.04, "very unlikely"), (0.2, "unlikely"), (0.5, "even chance"), (0.8, "likely"), (0.96, "very likely"), (1.0, "very likely")]
)  # fmt: skip
def test_a_chance_is_never_said_as_none_or_as_sure(chance: float, said: str) -> None:
    assert chance_words(chance) == said


def test_after_a_long_silence_no_date_is_given() -> None:
    state = build_home_state(RUG, answers(finish=None, silent_days=70))
    assert (state.finish_label, state.finish_figure) == ("Nothing entered for 70 days", "no date")
    assert "Log a session" in state.finish_range


def test_the_last_row_woven_is_said_and_then_the_day_it_was_finished() -> None:
    woven = build_home_state(RUG, answers(finish=None, finished=True))
    assert (woven.finish_label, woven.finish_figure, woven.finish_range) == (
        "Last row woven",
        "2 November",
        "",
    )
    finished = replace(RUG, plan=plan(stage=RugStage.FINISHED, finished_day=date(2026, 11, 20)))
    state = build_home_state(finished, answers(finish=None, finished=True))
    assert (state.finish_label, state.finish_figure) == ("Finished", "20 November")


def test_before_the_first_session_everything_is_said_to_come_from_the_plan() -> None:
    state = build_home_state(book(), answers(basis=Basis(sessions=0, from_plan=True)))
    assert state.from_plan
    assert state.basis.startswith("All of this comes from the plan")
    assert state.finish_label == "Last row, by the plan"


def test_what_moved_the_answers_is_said_beside_an_entry_that_counts_for_nothing() -> None:
    moved = answers(basis=Basis(sessions=10, from_plan=False, moved_by=("Slower than before.", "A day off.")))
    assert build_home_state(RUG, moved).basis == "Slower than before."
    odd = SetAside(id="x", kind="lot", rug_id="rug", sentence="A lot weighs more than nothing.")
    (ask,) = build_home_state(replace(RUG, set_aside=(odd,)), moved).asks
    assert ask.words.startswith("1 entry cannot be used")
    assert ask.words.endswith("A lot weighs more than nothing.")
    assert ask.page == "diary"
    of_plan = SetAside(id="p", kind="rug_plan", rug_id="rug", sentence="Too many rows.")
    (ask,) = build_home_state(replace(RUG, set_aside=(of_plan,)), moved).asks
    assert ask.page == "plan"


def test_mistakes_that_nobody_ticked_off_are_told_and_lead_to_their_list() -> None:
    there = CartoonMark(id="m", rug_id="rug", row=12, first_knot=3, last_knot=5, day=TODAY)
    (ask,) = build_home_state(replace(RUG, marks=(there,)), answers()).asks
    assert ask.words.startswith("1 mistake is still marked")
    assert "12" in ask.words
    assert ask.page == "zoom"
    mended = replace(there, mended_day=TODAY)
    assert build_home_state(replace(RUG, marks=(mended,)), answers()).asks == ()


@pytest.mark.parametrize(
    ("middle", "said"),
    [
        (date(2027, 1, 23), "(3 days later than before)"),
        (date(2027, 1, 19), "(1 day sooner than before)"),
        (date(2027, 1, 20), ""),
    ],
)
def test_a_session_that_was_saved_says_what_it_did_to_the_date(middle: date, said: str) -> None:
    after = answers(finish=replace(FINISH, middle=middle))
    line = what_changed(answers(), after, RUG)
    assert line.startswith("Row 50 of 200")
    assert said in line
    assert ("later" in line, "sooner" in line) == ("later" in said, "sooner" in said)


def test_why_the_date_moved_is_said_with_it_where_the_session_tells() -> None:
    def told(days: int, session_id: str = "new") -> Answers:
        basis = Basis(
            sessions=10,
            from_plan=False,
            moved_today=MovedToday(session_id, days, "rows faster than expected"),
        )
        return answers(basis=basis, finish=replace(FINISH, middle=FINISH.middle + timedelta(days=days)))

    why = why_moved(answers(), told(-2))
    assert why == "(2 days sooner: rows faster than expected)"
    line = what_changed(answers(), told(-2), RUG, why=why)
    assert line.startswith("18 Jan 2027 (2 days sooner: rows faster than expected)")
    assert line.endswith("Row 50 of 200")
    # An act of another kind, such as a purchase, is not explained by the session before it; nor is a shift the other way.
    assert why_moved(told(-1), told(-2)) == ""
    assert why_moved(told(-1, "other"), told(-2)) != ""
    assert why_moved(told(3, "other"), told(4)) != ""
    assert why_moved(told(-5, "other"), told(-2)) == ""
    assert why_moved(answers(), answers()) == why_moved(None, told(1)) == ""


def test_the_first_session_compares_itself_with_nothing() -> None:
    line = what_changed(None, answers(), RUG)
    assert "later" not in line
    assert "sooner" not in line


def test_only_what_is_not_enough_is_told_and_of_the_rest_that_it_lasts() -> None:
    short = yarn(
        "red", YarnWord.SHORT, short_g=245.0, order_g=500.0, runs_out_row=120, runs_out_day=date(2026, 12, 13)
    )
    state = build_home_state(RUG, answers(yarns=(short, yarn("blue"), yarn("weft"))))
    (alert,) = state.alerts
    assert (alert.title, alert.more, alert.act) == ("Madder runs short", "ends about 13 Dec", "to buy 500 g")
    assert state.others == "the others will last"
    assert build_home_state(RUG, answers(yarns=(yarn("red"), yarn("blue")))).others == "all yarns last"


def test_before_anything_is_bought_no_yarn_is_told_as_missing() -> None:
    state = build_home_state(
        RUG, answers(yarns=(yarn("red", YarnWord.NOT_BOUGHT), yarn("weft", YarnWord.NOT_BOUGHT)))
    )
    assert (state.alerts, state.others) == ((), "nothing bought yet")
    # In the order of their numbers, wefts last, whichever is the worst.
    words = [yarn(name, YarnWord.NOT_BOUGHT) for name in ("weft", "blue", "red")]
    state = build_home_state(RUG, answers(yarns=tuple(words)))
    assert [line.yarn_id for line in state.lines_of(state.told.others_of)] == ["red", "blue", "weft"]


def test_more_yarns_to_see_to_than_there_is_room_for_are_counted() -> None:
    short = [yarn(name, YarnWord.SHORT, short_g=10.0) for name in ("red", "blue", "weft")]
    state = build_home_state(RUG, answers(yarns=tuple(short)))
    assert len(state.alerts) == 2
    # The ball beside these words is that yarn's, whatever else will last: a single one is named.
    weft = next(yarn for yarn in RUG.yarns if yarn.id == "weft").name
    assert (state.others, state.told.others_of) == (f"{weft} runs short", ("weft",))
    assert [alert.yarn_id for alert in state.one_told.alerts] == ["red"]
    assert (state.one_told.others, state.one_told.others_of) == ("2 more yarns to watch", ("blue", "weft"))
    lasting = yarn("blue", YarnWord.ENOUGH)
    state = build_home_state(RUG, answers(yarns=(short[0], lasting, short[2])))
    assert (state.others, state.told.others_of) == ("the others will last", ("blue",))
    two, *more = (*short[:2], lasting, short[2])
    assert build_home_state(RUG, answers(yarns=(two, *more))).told.others_of == ("weft",)


def test_the_days_of_the_last_row_lie_in_their_order_on_the_line() -> None:
    wishing = replace(RUG, plan=plan(wished_day=date(2027, 1, 15)))
    band = build_home_state(wishing, answers(finish=FINISH)).band
    # 48, 51, 56 and 67 days from 25 November, on a line of 67 days and an eighth.
    assert 0 < band.early < band.target < band.middle < band.late < 1
    assert (band.target - band.early) / (band.late - band.early) == pytest.approx(3 / 19)
    assert build_home_state(RUG, answers(finish=None, silent_days=70)).band is None


def test_a_target_is_missed_only_where_the_likeliest_day_lies_after_it() -> None:
    days = [date(2026, 12, day) for day in (10, 20, 28)]

    def misses(target: date | None) -> bool:
        return home.finish_band(*days, TODAY, target).misses

    assert [misses(target) for target in (date(2026, 12, 19), days[1], date(2026, 12, 24), None)] == [
        True, False, False, False,
    ]  # fmt: skip
