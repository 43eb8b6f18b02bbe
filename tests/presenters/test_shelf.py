"""The shelf: where each rug stands, what can be done with it, what it taught."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from tests.presenters.answers import TODAY, answers, where
from tests.presenters.rugs import book, plan, session
from tracker.domain.rug import HoursFrom, Lot, RugStage, SizeMeasure, Weighing
from tracker.forecast.lessons import YarnLesson, lessons_of
from tracker.forecast.outlook import outlook
from tracker.presenters.finish import build_finish_state
from tracker.presenters.record.facts import weaving_facts
from tracker.presenters.record.rug_record import rug_record
from tracker.presenters.shelf import (
    build_lesson_state,
    deeds_of,
    deletion_words,
    learners,
    rug_card,
    shelf_groups,
    unfinished_words,
    waits_for_loom,
)
from tracker.words import size


def test_a_rug_on_the_loom_says_its_row_and_when_its_last_row_comes() -> None:
    card = rug_card(plan(), TODAY, in_hand=True, answers=answers())
    assert card.where == "row 50 of 200, 25 % of the knots"
    assert card.when == "last row about 20 January 2027"
    assert card.share == pytest.approx(0.25)


def test_a_rug_whose_answers_are_on_their_way_says_nothing_false() -> None:
    card = rug_card(plan(), TODAY, in_hand=False)
    assert (card.where, card.when, card.share) == ("", "", 0.0)


def test_a_rug_left_alone_says_so_and_one_without_rows_left_too() -> None:
    silent = rug_card(plan(), TODAY, in_hand=False, answers=answers(finish=None, silent_days=40))
    assert silent.when == "Nothing entered for 40 days"
    woven = rug_card(plan(), TODAY, in_hand=False, answers=answers(finish=None, finished=True))
    assert woven.when == "the last row is woven"


def test_a_planned_rug_says_when_it_begins_and_a_finished_one_when_it_ended() -> None:
    begun = plan(stage=RugStage.PLANNED, start_day=date(2027, 2, 1))
    assert rug_card(begun, TODAY, in_hand=False).when == "to begin 1 February 2027"
    rug = plan(stage=RugStage.FINISHED, finished_day=date(2026, 10, 3))
    whole = answers(where=where(rows_woven=200))
    done = rug_card(rug, TODAY, in_hand=False, answers=whole)
    assert (done.where, done.when, done.share) == ("200 rows", "finished 3 October", 1.0)
    assert rug_card(rug, TODAY, in_hand=False).where == ""


def test_a_rug_finished_before_its_last_row_has_the_rows_and_the_size_that_were_woven() -> None:
    """The list called it as long as planned where its own page told the rows that were woven."""
    rug = plan(
        stage=RugStage.FINISHED, finished_day=date(2026, 10, 3), size_measure=SizeMeasure.CLOTH, end_cm=3.0,
        loom_shrinkage=0.02, wash_shrinkage_length=0.01,
    )  # fmt: skip
    left = (1 - rug.loom_shrinkage) * (1 - rug.wash_shrinkage_length)
    rug = replace(rug, length_cm=(200 * 10 / rug.rows_per_10cm + 2 * 3.0) * left)
    early = answers(where=where(rows_woven=100, rows=100), finish=None, finished=True)
    card = rug_card(rug, TODAY, in_hand=False, answers=early)
    whole = rug_card(rug, TODAY, in_hand=False, answers=answers(where=where(rows_woven=200)))
    assert card.where == "100 rows"
    # A hundred rows are missing, and both flat ends are there.
    shorter_cm = rug.length_cm - 100 * 10 / rug.rows_per_10cm * left
    assert whole.brief_size == size(rug.width_cm, rug.length_cm)
    assert card.brief_size == size(rug.width_cm, shorter_cm)
    rows = book(session(1, 100), plan=rug)
    assert (
        card.size == build_finish_state(rows, early).size == f"about {card.brief_size} finished, by its rows"
    )
    measured = replace(rug, finished_width_cm=99.0, finished_length_cm=88.0)
    assert rug_card(measured, TODAY, in_hand=False, answers=early).brief_size == size(99.0, 88.0)


def test_a_planned_rug_with_rows_stands_among_those_on_the_loom() -> None:
    card = rug_card(plan(stage=RugStage.PLANNED), TODAY, in_hand=False, answers=answers())
    assert card.stage is RugStage.ON_LOOM
    assert card.where.startswith("row 50 of 200")


def test_what_is_woven_stands_first_and_the_newest_finished_before_the_older() -> None:
    rugs = [
        plan(id="old", stage=RugStage.FINISHED),
        plan(id="next", stage=RugStage.PLANNED),
        plan(id="new", stage=RugStage.FINISHED),
        plan(id="now"),
    ]
    groups = shelf_groups(tuple(rug_card(rug, TODAY, in_hand=False) for rug in rugs))
    assert [(group.label, [card.rug_id for card in group.cards]) for group in groups] == [
        ("On the loom", ["now"]),
        ("Planned", ["next"]),
        ("Finished", ["new", "old"]),
    ]
    assert shelf_groups(()) == ()


def keys(*args) -> list[str]:
    return [deed.key for deed in deeds_of(*args)]


def test_a_rug_can_be_called_finished_only_once_something_is_woven() -> None:
    assert "finish" not in keys(plan(), True, 0)
    assert "finish" in keys(plan(), True, 1)
    assert "finish" not in keys(plan(stage=RugStage.FINISHED), True, 200)


def test_the_likeliest_deed_stands_out_and_there_is_only_one() -> None:
    for rug, in_hand, woven, likeliest in (
        (plan(), False, 50, "hand"),
        (plan(stage=RugStage.PLANNED), True, 0, "loom"),
        (plan(stage=RugStage.PLANNED), False, 0, "hand"),
        (plan(), True, 200, "finish"),
    ):
        deeds = deeds_of(rug, in_hand, woven)
        assert [deed.key for deed in deeds if deed.role == "act"] == [likeliest]
    assert not [deed for deed in deeds_of(plan(), True, 50) if deed.role == "act"]
    # Another rug is on its loom: that one comes off first.
    mine, hers = plan(stage=RugStage.PLANNED, loom_id="window"), plan(id="hers", loom_id="window")
    waits = waits_for_loom(mine, (mine, hers))
    assert not [deed for deed in deeds_of(mine, True, 0, waits) if deed.role == "act"]
    assert not waits_for_loom(mine, (mine, replace(hers, loom_id="door")))
    assert not waits_for_loom(mine, (mine, replace(hers, stage=RugStage.FINISHED)))


def test_a_rug_held_to_its_length_is_finished_at_its_own_last_row() -> None:
    def act(woven: int) -> list[str]:
        return [deed.key for deed in deeds_of(plan(), True, woven, rows=180) if deed.role == "act"]

    assert (act(179), act(180)) == ([], ["finish"])


def test_a_finished_rug_can_go_back_and_tells_what_it_taught() -> None:
    assert {"back", "lessons"} <= set(keys(plan(stage=RugStage.FINISHED), False, 200))
    assert "back" not in keys(plan(), False, 50)
    assert "lessons" not in keys(plan(), False, 0)


def test_a_rug_called_finished_too_early_is_asked_about() -> None:
    assert unfinished_words(plan().rows, 200) == unfinished_words(plan().rows, 203) == ""
    assert unfinished_words(plan().rows, 199).startswith("1 row of the plan is not woven.")
    assert unfinished_words(plan().rows, 190).startswith("10 rows of the plan are not woven.")


def woven_rug():
    """100 of 200 rows in two sessions of 10 hours; of 1,000 g of red 850 g are left on the scale."""
    return book(
        session(1, 50, 10.0),
        session(2, 50, 10.0),
        lots=(Lot(id="l", rug_id="rug", yarn_id="red", day=date(2026, 11, 1), mass_g=1000.0),),
        weighings=(Weighing(id="w", rug_id="rug", yarn_id="red", day=date(2026, 11, 20), mass_g=850.0, born=9),),
    )  # fmt: skip


def test_the_figures_of_a_rug_of_which_hours_are_missing_divide() -> None:
    rug = book(session(1, 10, None), session(2, 79, 26.5), session(3, 1, None))
    facts = {
        label: (figure, more) for label, figure, more in build_lesson_state(rug, lessons_of(rug), TODAY).facts
    }
    assert facts["Rows woven"][1] == "9,000 knots"
    assert facts["Hours at the loom"] == (
        "mostly not given",
        "26.5 h given in 1 session; 2 sessions without hours",
    )
    # 79 rows of 100 knots: 7,900 in 26.5 h are 298.
    assert facts["Knots an hour"] == (
        "298",
        "by one weaver: 7,900 knots in 26.5 h, in the 1 session with hours given; planned: 500",
    )


def test_hours_that_nobody_gave_are_not_told_as_none_and_an_unpicking_is_no_session_without_them() -> None:
    rug = book(session(1, 10, None), session(2, 10, None), session(3, -2, None))
    facts = {
        label: (figure, more) for label, figure, more in build_lesson_state(rug, lessons_of(rug), TODAY).facts
    }
    assert facts["Hours at the loom"] == ("not given", "in 2 sessions")
    rug = book(session(1, 10, 4.0), session(2, 10, None), session(3, -2, None))
    facts = {
        label: (figure, more) for label, figure, more in build_lesson_state(rug, lessons_of(rug), TODAY).facts
    }
    assert facts["Hours at the loom"] == ("4 h", "4 h given in 1 session; 1 session without hours")


def test_what_a_rug_taught_is_said_in_the_weavers_own_figures() -> None:
    rug = woven_rug()
    state = build_lesson_state(rug, lessons_of(rug), TODAY)
    facts = {label: (figure, more) for label, figure, more in state.facts}
    # 100 rows of 100 knots; 10,000 knots in 20 hours.
    assert facts["Rows woven"] == ("100", "10,000 knots")
    assert facts["Hours at the loom"] == ("20 h", "in 2 sessions")
    assert facts["Knots an hour"] == ("500", "by one weaver: 10,000 knots in 20 h; planned: 500")
    assert facts["From first to last day"][0] == "2 days"
    over = build_lesson_state(
        rug, replace(lessons_of(rug), last_day=date(2027, 1, 4)), date(2027, 1, 5)
    ).facts
    assert ("From first to last day", "64 days", "2 November 2026 to 4 January 2027") in over
    (red,) = [line for line in state.yarns if line.name == "Madder"]
    # Half of 10,000 knots took 150 g.
    assert red.real == "30 g for 1,000 knots"
    assert red.difference.endswith(", weighed after 100 rows")


def test_a_yarn_that_was_weighed_too_early_to_tell_is_named_with_the_reason() -> None:
    """Two colours were weighed on one day: only one of them stood under the yarn used, and the other was asked for as if it never was."""
    rug = woven_rug()
    first = session(0, 5)
    scale, early = rug.weighings[0], replace(rug.weighings[0], id="early", day=first.day, mass_g=990.0)
    begun = replace(rug, sessions=(first, *rug.sessions), weighings=(early,))
    state = build_lesson_state(begun, lessons_of(begun), TODAY)
    assert state.missing == (
        "Weigh again what is left of Madder: when it was weighed, too little was woven to tell. "
        "Weigh what is left of 2 more yarns: their use then stands here, too."
    )
    assert "Madder" not in [line.name for line in state.yarns]
    # Weighed again at the end, it teaches.
    again = replace(begun, weighings=(early, scale))
    assert "again" not in build_lesson_state(again, lessons_of(again), TODAY).missing


def test_what_a_yarn_weighed_on_the_way_took_in_all_is_said_as_the_record_says_it() -> None:
    """A weighing after 100 rows gave grams for 1,000 knots that did not make the record's figure of the whole rug."""
    rug = woven_rug()
    rug = replace(rug, sessions=(*rug.sessions, session(22, 60, 10.0)))
    told = outlook(rug, date(2026, 11, 25))
    (line,) = build_lesson_state(rug, lessons_of(rug), TODAY, told).yarns
    (used,) = (yarn.used for yarn in rug_record(rug, told).yarns if yarn.name == line.name)
    assert line.difference.endswith(f", weighed after 100 rows; with the rows after it {used}, calculated")
    # Weighed at the end its grams are the scale's, here as there.
    last = replace(rug, weighings=(replace(rug.weighings[0], day=date(2026, 11, 24), born=30),))
    (line,) = build_lesson_state(last, lessons_of(last), TODAY, outlook(last, date(2026, 11, 25))).yarns
    assert line.difference.endswith("weighed after 160 rows")


def test_yarns_that_were_never_weighed_are_asked_for() -> None:
    rug = woven_rug()
    assert build_lesson_state(rug, lessons_of(rug), TODAY).missing == (
        "Weigh what is left of 2 more yarns: their use then stands here, too."
    )
    one = replace(rug, yarns=rug.yarns[:2])
    assert build_lesson_state(one, lessons_of(one), TODAY).missing == (
        "Weigh what is left of Indigo: its use then stands here, too."
    )


@pytest.mark.parametrize(
    ("ratio", "difference", "tone"),
    [
        (1.004, "as planned, weighed after 100 rows", "green"),
        (1.04, "4 % more than planned, weighed after 100 rows", "ink"),
        (1.2, "20 % more than planned, weighed after 100 rows", "madder"),
        (0.9, "10 % less than planned, weighed after 100 rows", "ink"),
        (2.5, "150 % more than planned: is something not entered? No other rug counts with it.", "madder"),
    ],
)
def test_a_yarn_that_took_more_than_planned_stands_out(ratio: float, difference: str, tone: str) -> None:
    rug = woven_rug()
    lesson = YarnLesson(
        yarn_id="red", rows=100, units=5000.0, used_g=500.0 * ratio, g_each=0.1 * ratio, planned_g_each=0.1, weighed=True
    )  # fmt: skip
    (line,) = build_lesson_state(rug, replace(lessons_of(rug), yarns=(lesson,)), TODAY).yarns
    assert (line.difference, line.tone) == (difference, tone)


def test_lessons_are_offered_to_other_rugs_that_are_still_planned() -> None:
    rugs = (
        plan(id="taught", stage=RugStage.PLANNED),
        plan(id="next", stage=RugStage.PLANNED),
        plan(id="now"),
        plan(id="old", stage=RugStage.FINISHED),
    )
    assert [rug.id for rug in learners(rugs, "taught")] == ["next"]


def test_the_knots_an_hour_of_two_weavers_divide_and_what_was_unpicked_is_said() -> None:
    rug = book(
        session(1, 10, 4.0, weavers=("amina",)),
        session(2, 20, 6.0, weavers=("amina", "besa")),
        session(3, -2, None, weavers=("amina",)),
    )
    facts = {
        label: (figure, more) for label, figure, more in build_lesson_state(rug, lessons_of(rug), TODAY).facts
    }
    assert facts["Rows woven"] == ("28", "2,800 knots; 2 rows unpicked on the way")
    assert facts["Hours at the loom"][0] == "10 h"
    # 30 rows of 100 knots in 4 h of one weaver and 6 h of two.
    assert facts["Knots an hour"] == (
        "188",
        "by one weaver: 3,000 knots in 16 h, each weaver's hours added up; "
        "200 knots that were unpicked again are not taken off; planned: 500",
    )
    # Whom the rug is handed to reads the figure alone.
    told = {fact.label: (fact.figure, fact.more) for fact in weaving_facts(rug)}
    assert told["Knots an hour"] == ("188", "by one weaver")
    # The same hours of a weaver alone are those at the loom: nothing is added up.
    alone = replace(rug, sessions=tuple(replace(one, weavers=("amina",)) for one in rug.sessions[:2]))
    facts = {
        label: more for label, _figure, more in build_lesson_state(alone, lessons_of(alone), TODAY).facts
    }
    assert facts["Knots an hour"] == "by one weaver: 3,000 knots in 10 h; planned: 500"
    # Hours that came with the rows as the usual ones say nothing of the pace: they are left out, and so are their knots.
    usual = replace(
        alone, sessions=(alone.sessions[0], replace(alone.sessions[1], hours_from=HoursFrom.USUAL))
    )
    lessons = lessons_of(usual)
    facts = {label: (figure, more) for label, figure, more in build_lesson_state(usual, lessons, TODAY).facts}
    assert facts["Hours at the loom"] == (
        "10 h",
        "4 h given in 1 session; 6 h in 1 session as usual, not given",
    )
    said = "by one weaver: 1,000 knots in 4 h, in the 1 session with hours given; planned: 500"
    assert facts["Knots an hour"] == ("250", said)
    nobody = replace(usual, sessions=usual.sessions[1:])
    assert lessons_of(nobody).knots_per_hour is None


def test_a_rug_only_planned_is_deleted_unasked_and_no_other() -> None:
    planned, woven = plan(stage=RugStage.PLANNED), plan(stage=RugStage.ON_LOOM)
    assert deletion_words(planned, 0) == deletion_words(planned, None) == ""
    assert deletion_words(woven, 44).startswith("44 rows are woven.")
    # Its rows may not be read yet.
    assert deletion_words(woven, None)
    # What waits to be saved is asked about, of a rug only planned too.
    waits = "Still waiting: +3 rows not saved yet. It comes back with the rug."
    assert deletion_words(planned, 0, "+3 rows not saved yet") == waits
    assert deletion_words(woven, 44, "+3 rows not saved yet") == f"{deletion_words(woven, 44)} {waits}"
