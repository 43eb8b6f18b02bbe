"""The row at the loom: runs in the order they are knotted, the place in the row, rows counted into the session."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from tests.presenters.rugs import book, plan, session, yarns
from tests.today import TODAY
from tracker.domain.errors import BadEntry
from tracker.domain.rug import Cartoon, Hold, Measurement, RugStage
from tracker.presenters import loom
from tracker.presenters.session import blank_form, form_kept, proposed_hours


def with_cartoon(*sessions, rows: int = 3, **changes):
    """A rug of 10 knots: row 1 is 4 red, 1 blue, 5 red; row 2 all blue; row 3 in a colour no yarn has at its left."""
    cells = np.array(
        [[0, 0, 2, 2, 1, 0, 0, 0, 0, 0], [1] * 10, [3, 3, 0, 0, 0, 0, 0, 0, 0, 1]], dtype=np.uint8
    )[:rows]
    red, blue, weft = yarns()
    return book(
        *sessions,
        plan=plan(knots_across=10, rows=3, **changes),
        cartoon=Cartoon(
            id="c", rug_id="rug", cells=cells, palette=("#111111", "#222222", "#333333", "#ABCDEF")
        ),
        # two shades of the scan are knotted in one red yarn
        yarns=(replace(red, cartoon_values=(0, 2)), replace(blue, cartoon_values=(1,)), weft),
    )


def said(runs) -> list[str]:
    return [f"{run.knots} {run.name}" for run in runs]


def test_the_next_row_is_the_one_above_the_last_woven() -> None:
    assert loom.build_loom_state(with_cartoon(), None, None, TODAY).row == 1
    assert loom.build_loom_state(with_cartoon(session(1, 2)), None, None, TODAY).row == 3


def test_runs_stand_in_order_with_shades_of_one_yarn_together() -> None:
    runs = loom.runs_of(with_cartoon(), 1)
    assert said(runs) == ["4 Madder", "1 Indigo", "5 Madder"]
    assert [(run.first, run.last) for run in runs] == [(1, 4), (5, 5), (6, 10)]
    assert [run.code for run in runs] == ["1", "2", "1"]
    assert runs[1].span == "knot 5"
    assert runs[2].span == "knots 6 to 10"


def test_a_colour_without_a_yarn_says_so_and_shows_itself() -> None:
    first = loom.runs_of(with_cartoon(), 3)[0]
    assert (first.knots, first.name, first.code, first.swatch) == (2, "no yarn yet", "?", "#ABCDEF")


def test_from_the_back_the_row_reads_the_other_way() -> None:
    runs = loom.runs_of(with_cartoon(), 3, mirrored=True)
    assert said(runs) == ["1 Indigo", "7 Madder", "2 no yarn yet"]
    assert [(run.first, run.last) for run in runs] == [(1, 1), (2, 8), (9, 10)]
    state = loom.build_loom_state(with_cartoon(), None, None, TODAY, mirrored=True)
    assert "from the back" in state.summary


def test_the_whole_row_is_covered_by_its_runs() -> None:
    for row in (1, 2, 3):
        assert sum(run.knots for run in loom.runs_of(with_cartoon(), row)) == 10


def test_counted_rows_move_the_row_on_and_are_said() -> None:
    rug = with_cartoon(session(1, 1))
    form = loom.count_rows(None, rug, TODAY, 1)
    state = loom.build_loom_state(rug, None, form, TODAY)
    assert (state.row, state.counted, state.counted_words) == (3, 1, "+1 row counted")
    assert form.hours == proposed_hours(1, rug)
    assert form.weavers == ("ann",)


def test_rows_counted_on_another_day_name_the_day() -> None:
    rug = with_cartoon()
    form = loom.count_rows(None, rug, TODAY.replace(day=24), 1)
    assert loom.build_loom_state(rug, None, form, TODAY).counted_words == "+1 row counted on 24 Nov"
    assert loom.must_save_first(form, TODAY, timer_runs=False)
    assert not loom.must_save_first(form, TODAY, timer_runs=True)
    assert not loom.must_save_first(loom.count_rows(None, rug, TODAY, 1), TODAY, timer_runs=False)


def test_no_more_rows_are_counted_than_the_rug_has() -> None:
    rug = with_cartoon(session(1, 2))
    form = loom.count_rows(None, rug, TODAY, 1)
    assert loom.build_loom_state(rug, None, form, TODAY).state == "woven"
    with pytest.raises(BadEntry):
        loom.count_rows(form, rug, TODAY, 1)
    with pytest.raises(BadEntry):
        loom.count_rows(None, with_cartoon(), TODAY, -1)


def test_a_row_counted_and_taken_back_leaves_no_half_filled_form() -> None:
    rug = with_cartoon()
    form = loom.count_rows(None, rug, TODAY, 1)
    assert not loom.is_bare(form, rug)
    assert loom.is_bare(loom.count_rows(form, rug, TODAY, -1), rug)


def test_another_row_can_be_looked_at_within_the_rug() -> None:
    rug = with_cartoon(session(1, 1))
    state = loom.build_loom_state(rug, 1, None, TODAY)
    assert (state.row, state.current, state.browsing) == (1, 2, True)
    assert loom.build_loom_state(rug, 99, None, TODAY).row == 3


def test_what_is_said_without_a_row() -> None:
    assert loom.build_loom_state(book(), None, None, TODAY).state == "no cartoon"
    # Who holds the length and beats closely weaves more rows than the cartoon has.
    close = replace(
        with_cartoon(session(1, 2), rows=2, hold=Hold.LENGTH, length_cm=1.2),
        measurements=(Measurement(id="m", rug_id="rug", day=TODAY, row=2, length_cm=0.7),),
    )
    assert loom.build_loom_state(close, None, None, TODAY).state == "past the cartoon"
    assert loom.build_loom_state(with_cartoon(stage=RugStage.FINISHED), None, None, TODAY).state == "woven"


def test_the_place_is_kept_for_its_row_and_its_rug() -> None:
    kept = loom.with_place(None, "rug", 7, 2)
    kept = loom.with_place(kept, "other", 3, 1)
    assert loom.place_of(kept, "rug", 7, 5) == 2
    assert loom.place_of(kept, "other", 3, 5) == 1
    assert loom.place_of(kept, "rug", 8, 5) is None
    assert loom.place_of(kept, "rug", 7, 1) is None  # the cartoon changed: the row has fewer runs now
    assert loom.place_of(loom.with_place(kept, "rug", 7, None), "rug", 7, 5) is None


@pytest.mark.parametrize("kept", [None, 3, {"rug": 5}, {"rug": {"row": 7, "run": "x"}}])
def test_a_damaged_place_is_no_place(kept) -> None:
    assert loom.place_of(kept, "rug", 7, 5) is None


def test_tapping_the_run_in_hand_again_moves_on() -> None:
    assert loom.next_place(3, None) == 3
    assert loom.next_place(3, 3) == 4
    assert loom.next_place(1, 3) == 1
    assert loom.next_place(0, None) == 1  # a fresh row is at its first run
    assert loom.next_place(0, 2) == 0


def test_the_strip_shows_the_row_between_its_neighbours() -> None:
    rug = with_cartoon()
    strip = loom.row_strip(rug, 2, below=2, above=1, ground="#FFFFFF")
    assert strip.picture.shape == (4, 10, 3)
    assert strip.row_index == 2
    assert tuple(strip.picture[0, 0]) == (255, 255, 255)  # below the first row there is nothing
    assert tuple(strip.picture[1, 0]) == (0x9C, 0x2F, 0x25)
    assert tuple(strip.picture[2, 0]) == (0x27, 0x40, 0x6B)
    # what is still to come is paler: 0.55 of the way from #ABCDEF to white
    assert strip.picture[3, 0] == pytest.approx((217.2, 232.5, 247.8), abs=0.51)
    back = loom.row_strip(rug, 3, below=0, above=0, mirrored=True)
    assert tuple(back.picture[0, 0]) == (0x27, 0x40, 0x6B)


def test_rows_counted_after_an_undone_session_go_on_with_its_yarn_and_words() -> None:
    """One touch on "Row done" hid the balls, the hours and the note of the session that waited."""
    rug = with_cartoon()
    undone = replace(
        blank_form(rug, TODAY), rows=1, hours=2.5, hours_said=True, used=(("red", 1.0),), note="new comb",
        begun_knots=5, begun_said=True,
    )  # fmt: skip
    drafts: dict[str, object] = {}
    kept = SimpleNamespace(get=drafts.get, put=drafts.__setitem__, look_again=lambda: None)
    form = loom.count_rows(None, rug, TODAY, 1, undone)
    loom.keep_counted(kept, form, rug, undone)
    waiting = form_kept(kept, rug.plan.id)
    assert waiting is not None
    assert (waiting.rows, waiting.hours, waiting.used, waiting.note) == (1, 2.5, (("red", 1.0),), "new comb")
    assert waiting.begun_knots is None, "its rows are out of the rug, and so is the row it had begun"
    # The row taken back leaves the undone session waiting as it was, not a part of it.
    loom.keep_counted(kept, loom.count_rows(waiting, rug, TODAY, -1), rug, undone)
    assert form_kept(kept, rug.plan.id) is None
