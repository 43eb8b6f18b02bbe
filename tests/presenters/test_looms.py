"""The looms page: what lies on each, how far it is woven, who sits where, and when it becomes free."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.presenters import rugs
from tests.properties import examples
from tracker.app.reading import answered
from tracker.domain.errors import BadEntry
from tracker.domain.loom import Loom, LoomKind, WarpLay
from tracker.domain.order import Order
from tracker.domain.rug import AfterStep, Role, RugBook, RugPlan, RugStage, Yarn
from tracker.domain.shared_warp import part_of_book, rugs_on_warp, shared_warp
from tracker.forecast.answers import Answers
from tracker.forecast.outlook import outlook
from tracker.presenters import entry_forms, one_loom
from tracker.presenters.answer_words import day_near, day_range, last_row_about
from tracker.presenters.entries.form import FormKind
from tracker.presenters.finish import build_finish_state
from tracker.presenters.home import build_home_state
from tracker.presenters.looms import LoomsState, begin_on, build_looms_state, deletion_trouble, looms_text
from tracker.presenters.rates import rate_words, rates_of
from tracker.presenters.warp_words import mounting_words, threads_words
from tracker.reports.text_form import as_text
from tracker.words import day

TODAY = date(2026, 11, 13)
WIDE = Loom(
    id="wide", name="By the window", kind=LoomKind.ROLLER, width_cm=150.0, longest_warp_cm=600.0, seats=3
)


def woven(rows: int = 60, **changes) -> RugBook:
    """A rug of 200 rows on the wide loom, some of them woven in six sessions by Ann on the left and Bo."""
    places = (("ann", 1, 60), ("bo", 61, 100))
    sessions = (
        rugs.session(number, rows // 6, weavers=("bo", "ann"), places=places) for number in range(1, 7)
    )
    return rugs.book(*sessions, plan=rugs.plan(**{"loom_id": "wide", **changes}))


def waiting(start: date, after: str | None = "rug", **changes) -> RugBook:
    """A rug planned for the wide loom, on the warp of the first one."""
    told = {"id": "next", "name": "Runner", "loom_id": "wide", "warp_after": after}
    told |= {"stage": RugStage.PLANNED, "start_day": start}
    return RugBook(plan=rugs.plan(**{**told, **changes}), yarns=rugs.yarns())


def on_one_warp(*books: RugBook) -> list[RugBook]:
    """The books as the book's reading gives them: each knows who shares its warp."""
    by_id = {book.plan.id: book for book in books}
    plans = [book.plan for book in books]

    def parts(plan: RugPlan):
        order = [by_id[one.id] for one in rugs_on_warp(plan.id, plans)]
        return tuple(map(part_of_book, order))

    return [replace(book, warp_parts=parts(book.plan) if len(parts(book.plan)) > 1 else ()) for book in books]


def answered_of(*books: RugBook) -> list[tuple[RugBook, Answers]]:
    """The rugs with the answers that every page gets."""
    by_id = {book.plan.id: book for book in books}
    plans = tuple(book.plan for book in books)
    return [answered(by_id.__getitem__, plan.id, plans, {}, TODAY)[:2] for plan in plans]


def state_of(*books: RugBook, looms=(WIDE,), finished=()) -> LoomsState:
    return build_looms_state(looms, answered_of(*books), finished, TODAY)


def test_a_loom_tells_its_rug_how_far_it_is_and_when_it_becomes_free_as_the_other_pages_do() -> None:
    book = woven()
    finish = outlook(book, TODAY).finish
    assert finish is not None
    (card,) = state_of(book).cards
    assert card.headline == f"Free about {day(finish.middle, TODAY)}"
    assert card.range == day_range(finish.early, finish.late, TODAY)
    (line,) = card.rugs
    assert line.where == "row 60 of 200, 30 % of the knots"
    assert line.when == last_row_about(finish.middle, TODAY)
    assert line.note == "being woven now"
    # One that was only put on the loom is not called so.
    assert state_of(woven(0)).cards[0].rugs[0].note == "no row woven yet"
    assert card.measures == "upright, roller beams, 150 cm wide, warp up to 600 cm, 3 seats"
    assert not card.free


def test_seats_stand_from_the_left_as_in_the_last_session_and_the_rest_are_empty() -> None:
    (card,) = state_of(woven()).cards
    assert [(seat.number, seat.name) for seat in card.seats] == [("1", "Ann"), ("2", "Bo"), ("3", "")]
    assert card.sat == "as on 7 November"
    # The page of balls calls such an order assumed.
    book = woven()
    unsaid = replace(book, sessions=tuple(replace(session, places=()) for session in book.sessions))
    assert state_of(unsaid).cards[0].sat == "as on 7 November; nobody said in which order"


def test_a_loom_whose_rug_left_it_is_free_and_remembers_who_sat_there() -> None:
    gone = woven(200, stage=RugStage.FINISHED)
    state = state_of(finished=(gone,))
    (card,) = state.cards
    assert (card.free, card.headline, card.rugs) == (True, "Free", ())
    assert [seat.name for seat in card.seats] == ["Ann", "Bo", ""]
    assert "with another rug" in card.sat
    assert state.headline == "1 loom, 1 free"


def test_a_rug_planned_for_a_loom_says_until_when_it_is_free() -> None:
    (card,) = state_of(waiting(TODAY + timedelta(days=9), after=None)).cards
    assert card.free
    assert card.headline == f"Free until {day(TODAY + timedelta(days=9), TODAY)}"
    assert card.range == "Runner comes next"
    (late,) = state_of(waiting(TODAY - timedelta(days=9), after=None)).cards
    assert late.headline == "Free"


def test_all_rows_woven_say_that_the_rug_is_to_be_cut_off() -> None:
    (card,) = state_of(woven(204)).cards
    assert card.headline == "The last row is woven: free once the rug is cut off"
    cut_off = AfterStep(id="cut", rug_id="rug", number=1, name="Cut off", days=1.0, done_day=TODAY)
    (card,) = state_of(replace(woven(204), after_steps=(cut_off,))).cards
    assert card.headline == "Cut off: the loom is free"


def test_of_two_rugs_on_one_warp_the_second_waits_and_the_loom_is_free_after_it() -> None:
    first, second = on_one_warp(woven(), waiting(date(2027, 6, 1)))
    (card,) = state_of(first, second).cards
    assert [(line.name, line.note) for line in card.rugs] == [
        ("Little field", "being woven now"),
        ("Runner", "begins when Little field is done"),
    ]
    finish = outlook(second, TODAY).finish
    assert finish is not None
    assert card.headline == f"Free about {day(finish.middle, TODAY)}"
    assert "Little field and Runner on one warp of " in card.warp
    assert card.warp.endswith("one behind the other")
    assert card.begin_after is None


@examples(5)
@given(
    rows=st.sampled_from([30, 60, 150, 198]),
    after_days=st.integers(1, 90),
    rows_next=st.sampled_from([20, 200, 600]),
    beside=st.booleans(),
)
def test_every_page_tells_one_range_of_a_rug_that_waits_and_how_late_the_one_before_it_may_be_is_in_it(
    rows: int, after_days: int, rows_next: int, beside: bool
) -> None:
    ahead = outlook(woven(rows), TODAY).finish
    assert ahead is not None
    begins = ahead.middle + timedelta(days=after_days)
    books = [woven(rows), waiting(begins, rows=rows_next, wished_day=begins + timedelta(days=40))]
    if beside:
        # A small rug beside the one that is woven, done before it: the third waits for the larger one.
        books.append(waiting(TODAY, id="small", name="Small", rows=5, warp_lay=WarpLay.BESIDE))
        books[1] = replace(books[1], plan=replace(books[1].plan, born=5))
    told = dict(zip(("rug", "next", "small"), answered_of(*on_one_warp(*books)), strict=False))
    book, answers = told["next"]
    finish, own = answers.finish, outlook(book, TODAY).finish
    assert finish is not None
    assert own is not None
    assert answers.ahead is not None
    assert answers.ahead.finish is not None
    # Two spreads with causes of their own add up as the sides of a right angle; told is a day on which somebody weaves.
    delay = max((answers.ahead.finish.late - begins).days + 1, 0)
    late = own.middle + timedelta(days=math.hypot(delay, (own.late - own.middle).days))
    assert (finish.early, finish.middle) == (own.early, own.middle)
    assert abs((finish.late - late).days) <= 3
    if (late - own.late).days > 3:
        assert finish.late > own.late
    # The last of the way is the last row, and the chance of the wished day is of the same futures.
    assert finish.bands[-1][1:] == (finish.early, finish.middle, finish.late)
    assert finish.chance_of_wish is not None
    assert (finish.chance_of_wish >= 0.9) == (book.plan.wished_day >= finish.late) or (
        abs((book.plan.wished_day - finish.late).days) <= 3
    )
    between = day_range(finish.early, finish.late, TODAY)
    assert build_home_state(book, answers).finish_range == between
    assert build_finish_state(book, answers).span == between
    assert f"({between})" in as_text(book, answers)
    page = build_looms_state([WIDE], list(told.values()), [], TODAY)
    (card,) = page.cards
    if finish.middle > ahead.middle:
        assert card.range.splitlines()[0] == between
    # What the date holds under is said wherever the date is.
    condition = f"Holds only if {answers.ahead.name} is off the warp by {day_near(begins, TODAY)}."
    assert condition in [ask.words for ask in build_home_state(book, answers).conditions]
    assert condition in as_text(book, answers)
    assert condition in build_finish_state(book, answers).left
    under = build_home_state(book, answers).label_under
    assert under.startswith(f"Last row, if {answers.ahead.name} is off the warp ")


def test_a_third_rug_waits_for_the_second_and_is_not_called_free_to_begin_before_it() -> None:
    finish = outlook(woven(), TODAY).finish
    assert finish is not None
    second = waiting(finish.late + timedelta(days=1))
    third = waiting(finish.late + timedelta(days=2), after="next", id="third", name="Third", born=9)
    (card,) = state_of(*on_one_warp(woven(), second, third)).cards
    assert [line.note for line in card.rugs][1:] == [
        "begins when Little field is done", "begins when Runner is done",
    ]  # fmt: skip
    assert card.range.endswith(
        "Third is planned to begin before Runner is done: its days are counted from then on"
    )


def test_two_planned_rugs_on_one_warp_do_not_both_begin_on_the_day_of_their_plans() -> None:
    first, second = on_one_warp(waiting(TODAY, after=None, id="rug", name="Hall rug"), waiting(TODAY))
    finish = outlook(first, TODAY).finish
    assert finish is not None
    (card,) = state_of(first, second).cards
    hall, runner = card.rugs
    assert (hall.name, hall.when) == ("Hall rug", f"to begin {day(TODAY, TODAY)}")
    assert (runner.note, runner.when) == ("begins when Hall rug is done", "")
    assert card.free
    assert card.begin_after == ("next", finish.middle + timedelta(days=1))
    assert card.begin_words == f"Let Runner begin on {day(finish.middle + timedelta(days=1), TODAY)}"


def test_what_is_planned_for_a_loom_that_is_not_free_yet_is_told_with_when_it_becomes_free() -> None:
    finish = outlook(woven(), TODAY).finish
    assert finish is not None
    likely = day_range(finish.early, finish.late, TODAY)
    (after,) = state_of(woven(), waiting(finish.middle + timedelta(days=30), after=None)).cards
    assert after.range == f"{likely}\nRunner comes next"
    (before,) = state_of(woven(), waiting(finish.middle - timedelta(days=1), after=None)).cards
    assert before.range == f"{likely}\nRunner is planned to begin before that"


def test_what_does_not_fit_its_loom_is_said_at_the_loom_and_of_one_warp_once() -> None:
    narrow = replace(WIDE, width_cm=40.0)
    (card,) = state_of(woven(loom_width_cm=40.0), looms=(narrow,)).cards
    assert "Make the rug narrower by" in card.rugs[0].trouble
    (card,) = state_of(woven(loom_width_cm=150.0)).cards
    assert card.rugs[0].trouble == ""
    first, second = on_one_warp(
        woven(loom_width_cm=60.0), waiting(date(2027, 6, 1), warp_lay=WarpLay.BESIDE, loom_width_cm=60.0)
    )
    (card,) = state_of(first, second).cards
    assert "Side by side, the rugs on this warp take" in card.rugs[0].trouble
    assert card.rugs[1].trouble == ""


def test_a_take_up_that_was_measured_counts_where_a_warp_does_not_fit_its_loom() -> None:
    short = replace(WIDE, longest_warp_cm=140.0)

    def trouble(**of_warp: float) -> str:
        warp = Yarn(id="warp", rug_id="rug", role=Role.WARP, number=1, name="Warp", tex=300.0, **of_warp)
        weft = Yarn(id="w", rug_id="rug", role=Role.WEFT, number=2, name="Loose weft", take_up=0.5)
        book = replace(woven(loom_waste_cm=30.0), yarns=(weft, *rugs.yarns(), warp), loom=short)
        (card,) = state_of(book, looms=(short,)).cards
        return card.rugs[0].trouble

    # 84 cm of cloth, 20 cm of fringes and 30 cm of waste: 136.5 cm at the usual 3 %, 150.8 cm at a fifth.
    assert trouble() == ""
    assert "the warp is 150.8 cm long" in trouble(take_up=0.2)


def test_a_rug_long_silent_gives_its_loom_no_date() -> None:
    book = woven()
    answers = replace(outlook(book, TODAY), finish=None, silent_days=70)
    (card,) = build_looms_state((WIDE,), [(book, answers)], (), TODAY).cards
    assert (card.headline, card.free) == ("Nothing entered for 70 days", False)
    assert card.range == "no date"
    assert card.rugs[0].note == "being woven now"


def test_a_second_rug_that_is_planned_to_begin_too_early_is_counted_from_when_it_can() -> None:
    promised = Order(id="o", rug_id="next", customer="the market", promised_day=TODAY + timedelta(days=3))
    first, second = on_one_warp(woven(), replace(waiting(TODAY, rows=5), orders=(promised,)))
    finish = outlook(first, TODAY).finish
    assert finish is not None
    (_one, (_book, answers)) = answered_of(first, second)
    assert answers.finish is not None
    assert finish.middle < answers.finish.early
    assert answers.finish.chance_of_promise == 0, "five rows are an evening's work, and the warp is not free"
    free = day_near(finish.middle + timedelta(days=1), TODAY)
    assert f"Holds only if Little field is off the warp by {free}." in as_text(second, answers)
    (card,) = state_of(first, second).cards
    assert card.headline == f"Free about {day(answers.finish.middle, TODAY)}"
    assert card.range.endswith(
        "Runner is planned to begin before Little field is done: its days are counted from then on"
    )
    assert card.begin_after == ("next", finish.middle + timedelta(days=1))


def test_a_begun_rug_that_waits_for_its_warp_is_told_to_wait_and_not_to_be_slow() -> None:
    """The weeks until the other was off the warp were told as slow ones, "evenings are missed or shorter"."""
    begun = waiting(TODAY - timedelta(days=20), rows=400, hours_per_week=10.0)
    sessions = tuple(rugs.session(number, 2, id=f"n{number}", rug_id="next") for number in range(1, 4))
    first, second = on_one_warp(woven(), replace(begun, sessions=sessions))
    (_one, (_book, answers)) = answered_of(first, second)
    assert answers.ahead is not None
    assert answers.ahead.finish is not None
    free = day_near(answers.ahead.finish.loom_free, TODAY)
    told = " ".join(rate_words(second, answers))
    assert f"From {free} on" in told
    assert f"off the warp by {free}." in as_text(second, answers)
    rates, alone = rates_of(second, answers), outlook(second, TODAY)
    assert rates.week_ahead_h == pytest.approx(rates_of(second, alone).week_ahead_h, rel=0.2)


def test_rugs_side_by_side_are_woven_together() -> None:
    beside = waiting(TODAY, warp_lay=WarpLay.BESIDE, stage=RugStage.ON_LOOM)
    first, second = on_one_warp(woven(), beside)
    (card,) = state_of(first, second).cards
    assert [line.note for line in card.rugs] == ["being woven now", "no row woven yet"]
    assert card.warp.endswith("side by side")


def test_two_rugs_woven_at_once_on_one_loom_are_told_unless_they_share_a_warp_or_both_fit() -> None:
    def troubles(loom: Loom = WIDE, **changes) -> list[str]:
        changes = {"after": None, "stage": RugStage.ON_LOOM, **changes}
        books = on_one_warp(woven(), waiting(TODAY, **changes))
        (card,) = state_of(*(replace(book, loom=loom) for book in books), looms=(loom,)).cards
        return [line.trouble for line in card.rugs]

    # Two rugs of 100 knots at 50 in 10 cm: 20 cm each, on 150 cm of loom and on 30 cm.
    assert troubles() == ["", ""]
    first, second = troubles(replace(WIDE, width_cm=30.0))
    assert "Little field and Runner are both woven here now, each on a warp of its own" in first
    assert "on a loom of 30 cm" in first
    assert "are both woven here now" not in second, "told once"
    unknown = troubles(replace(WIDE, width_cm=None))
    assert "are both woven here now" in unknown[0]
    assert not any("both woven" in words for words in troubles(replace(WIDE, width_cm=None), after="rug"))
    planned = troubles(replace(WIDE, width_cm=None), stage=RugStage.PLANNED)
    assert not any("both woven" in words for words in planned)


@pytest.mark.parametrize("meant", list(one_loom.Meant))
def test_what_is_answered_leaves_no_rug_unasked_for_on_the_loom(meant) -> None:
    here, comes = rugs.plan(loom_id="wide"), waiting(TODAY, after=None, stage=RugStage.ON_LOOM).plan
    assert one_loom.others_there(comes, [here, comes]) == (here,)
    words = [answer for _said, answer in one_loom.answers(comes, here)]
    assert meant in words
    if meant in (one_loom.Meant.BEHIND, one_loom.Meant.BESIDE):
        comes = one_loom.on_warp_of(comes, here, meant)
        assert comes.warp_lay == meant.value
    elif meant is one_loom.Meant.MOVED:
        here = one_loom.off_its_loom(here)
    elif meant is one_loom.Meant.ELSEWHERE:
        comes = one_loom.off_its_loom(comes)
    else:
        return  # both stay as they are
    assert one_loom.others_there(comes, [here, comes]) == ()


def test_a_rug_wider_or_longer_than_a_mounted_warp_is_asked_about_before_it_lies_on_it() -> None:
    here, comes = woven(), waiting(TODAY, after="rug", stage=RugStage.ON_LOOM)
    assert part_of_book(here).mounted
    doubt = one_loom.warp_doubt(comes, here, "cm")
    assert doubt is not None, "behind the other it needs more length"
    assert "The warp of Little field is mounted." in doubt.question
    assert threads_words(part_of_book(here).threads) in doubt.question
    wide = replace(comes, plan=replace(comes.plan, knots_across=4 * comes.plan.knots_across), cartoon=None)
    doubt = one_loom.warp_doubt(wide, here, "cm")
    assert doubt is not None
    assert threads_words(part_of_book(wide).threads) in doubt.question
    # Before it is mounted, it is measured for both.
    assert one_loom.warp_doubt(wide, replace(here, sessions=(), preparations=()), "cm") is None
    # Side by side no more length is needed, but threads are.
    beside = replace(comes, plan=replace(comes.plan, warp_lay=WarpLay.BESIDE, rows=10), cartoon=None)
    doubt = one_loom.warp_doubt(beside, here, "cm")
    assert doubt is not None
    together = part_of_book(here).threads + part_of_book(beside).threads
    assert threads_words(together) in doubt.question
    # Laid there all the same, it is said of what the mounted warp may lack: no length.
    shared = shared_warp((part_of_book(here), part_of_book(beside)))
    assert shared is not None
    said = mounting_words(shared, "next", "cm")
    assert "too narrow" in said
    assert "too short" not in said
    behind = shared_warp((part_of_book(here), part_of_book(wide)))
    assert behind is not None
    assert "too narrow and too short" in mounting_words(behind, "next", "cm")


def test_rugs_woven_on_no_loom_of_the_book_are_told_apart() -> None:
    state = state_of(woven(loom_id=None))
    assert [line.name for line in state.unplaced] == ["Little field"]
    assert state.cards[0].free


def test_no_loom_yet_says_what_they_are_for() -> None:
    state = state_of(woven(), looms=())
    assert state.empty.startswith("Enter each loom once")
    assert looms_text(state) == ""


def test_the_text_tells_what_the_page_does() -> None:
    text = looms_text(state_of(woven()))
    for words in (
        "1 loom, none free",
        "By the window (upright",
        "Free about",
        "Little field: being woven now, row 60 of 200",
        "Seats from the left, as on 7 November: 1 Ann, 2 Bo, 3 empty",
    ):
        assert words in text


def test_the_text_names_a_shared_warp_and_a_free_loom() -> None:
    first, second = on_one_warp(woven(), waiting(date(2027, 6, 1)))
    free = Loom(id="free", name="The old one", seats=1)
    lines = looms_text(state_of(first, second, looms=(WIDE, free))).splitlines()
    assert lines[0] == "2 looms, 1 free"
    assert any(line.startswith("  Little field and Runner on one warp of ") for line in lines)
    assert any(
        line.startswith("  Runner: begins when Little field is done, 200 rows, to begin 1 June 2027")
        for line in lines
    )
    assert lines[-2:] == ["The old one (upright, fixed beams)", "  Free"]


def test_a_plan_can_be_moved_to_another_first_day() -> None:
    assert begin_on(rugs.plan(), date(2027, 3, 4)) == rugs.plan(start_day=date(2027, 3, 4))


def test_more_weavers_than_seats_all_have_one_and_who_left_the_book_is_somebody() -> None:
    book = replace(woven(), weavers=woven().weavers[:1])
    (card,) = state_of(book, looms=(replace(WIDE, seats=1),)).cards
    assert [(seat.number, seat.name, seat.weaver_id) for seat in card.seats] == [
        ("1", "Ann", "ann"), ("2", "somebody", "bo"),
    ]  # fmt: skip


def test_a_loom_is_not_deleted_while_a_rug_lies_on_it() -> None:
    on_it = woven().plan
    assert deletion_trouble("wide", [on_it]).startswith("Little field lies on this loom.")
    assert deletion_trouble("other", [on_it]) == ""
    assert deletion_trouble("wide", [replace(on_it, stage=RugStage.FINISHED)]) == ""


def test_a_loom_is_entered_without_a_rug_and_needs_a_name() -> None:
    form = entry_forms.blank(FormKind.LOOM, None, TODAY)
    with pytest.raises(BadEntry, match="name"):
        entry_forms.to_value(form, None, TODAY)
    for key, answer in (("name", "Low one"), ("kind", "horizontal"), ("width_cm", 120.5), ("seats", 2)):
        form = form.with_answer(key, answer)
    loom = entry_forms.to_value(form, None, TODAY)
    assert loom == Loom(id=form.record_id, name="Low one", kind=LoomKind.GROUND, width_cm=120.5, seats=2)
    assert entry_forms.from_kept(entry_forms.to_kept(form)) == form
    assert entry_forms.to_value(entry_forms.form_of(loom), None, TODAY) == loom


def test_a_corrected_measure_goes_to_the_plans_that_took_it_and_to_no_other() -> None:
    loom = replace(WIDE, waste_cm=35.0)
    took = rugs.plan(loom_id="wide", loom_width_cm=150.0, loom_waste_cm=35.0)
    own = replace(took, id="own", loom_width_cm=144.0, loom_waste_cm=50.0)
    gone = replace(took, id="gone", stage=RugStage.FINISHED)
    elsewhere = replace(took, id="elsewhere", loom_id=None)
    opened = entry_forms.form_of(loom)
    form = opened.with_answer("width_cm", 148).with_answer("waste_cm", 30)
    value = entry_forms.to_value(form, None, TODAY)
    (changed,) = entry_forms.along(form, value, opened, (took, own, gone, elsewhere))
    assert changed == replace(took, loom_width_cm=148.0, loom_waste_cm=30.0)
