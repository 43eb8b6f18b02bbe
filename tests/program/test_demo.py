"""The demo tells one coherent story: what was bought, knotted in, weighed and noted agrees with itself."""

from __future__ import annotations

import importlib.util
import shutil
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from storage import reading
from storage.book import Book
from tests.today import TODAY
from tracker.demo.book import demo_deeds
from tracker.demo.deeds import Deed
from tracker.demo.place import ensure_demo
from tracker.domain.rug import Role, RugBook, RugStage, Session, UnpickedYarn, Yarn
from tracker.files.whole import working
from tracker.forecast.answers import YarnWord
from tracker.forecast.outlook import outlook
from tracker.pictures.cartoon_reader import read_cartoon

ASSETS = Path(__file__).parents[2] / "assets"

# By hand from the plan: 24 knots on 10 cm are warps 2.083 mm apart. Nm 5/2 x 3 is 1000 / 5 x 2 x 3 = 1200 tex, in
# wool 1.53 mm thick; the warp is 1.15 mm thick; their centre lines lie (1.53 + 1.15) / 2 = 1.34 mm apart. A symmetric
# knot goes 2.08 across, 3 pi x 1.34 round and 2 x (1.34 + 0.76) up = 18.9 mm, then 2 x 10 mm of pile and
# 3 + 2 x 1.5 mm of waste: 44.9 mm x 1.2 mg = 53.9 mg.
PLAN_MG_PER_KNOT = 53.9
MORE_THAN_PLAN = 1.06


@pytest.fixture(scope="module")
def rugs(tmp_path_factory: pytest.TempPathFactory, demo_book: Path) -> dict[str, RugBook]:
    path = Path(shutil.copy(demo_book, tmp_path_factory.mktemp("demo") / "demo.loomside"))
    with Book.open(path) as book:
        return {plan.name: reading.rug_book(book, plan.id) for plan in reading.rugs(book)}


@pytest.fixture(scope="module")
def garden(rugs: dict[str, RugBook]) -> RugBook:
    return rugs["Walled garden"]


def knots_by_row(rug: RugBook, yarn: Yarn) -> np.ndarray:
    assert rug.cartoon is not None
    return np.isin(rug.cartoon.cells, yarn.cartoon_values).sum(axis=1)


def yarn_named(rug: RugBook, name: str) -> Yarn:
    return next(yarn for yarn in rug.yarns if yarn.name == name)


def bought_g(rug: RugBook, yarn: Yarn) -> float:
    return sum(lot.mass_g for lot in rug.lots if lot.yarn_id == yarn.id)


def spoilt_g(rug: RugBook, yarn: Yarn) -> float:
    return sum(lost.mass_g for lost in rug.spoilt if lost.yarn_id == yarn.id)


# --- the cartoon --------------------------------------------------------------------------------------------------


def test_the_cartoon_in_the_repo_is_what_its_script_draws() -> None:
    spec = importlib.util.spec_from_file_location("draw_cartoon", ASSETS / "demo" / "draw_cartoon.py")
    assert spec is not None
    assert spec.loader is not None
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    kept = read_cartoon(ASSETS / "demo" / "cartoon.png")
    drawn = script.cartoon()[::-1]  # row 1 is the picture's bottom row
    colours = [colour for _name, colour in script.PALETTE.values()]
    assert kept.cells.shape == (341, 241)
    assert sorted(kept.palette) == sorted(colours)
    assert len(kept.palette) == 8
    as_drawn = np.array(colours)[drawn]
    as_kept = np.array(kept.palette)[kept.cells]
    assert (as_drawn == as_kept).all()


def test_the_border_changes_colour_more_often_than_quiet_rows_of_the_field() -> None:
    cells = read_cartoon(ASSETS / "demo" / "cartoon.png").cells.astype(int)
    changes = (np.diff(cells, axis=1) != 0).sum(axis=1)
    assert np.median(changes[15:34]) > 1.4 * np.median(changes[50:120])


def test_the_rug_is_nearly_the_same_left_and_right_but_not_quite() -> None:
    cells = read_cartoon(ASSETS / "demo" / "cartoon.png").cells
    same = (cells == cells[:, ::-1]).mean()
    assert 0.9 < same < 1.0


# --- the story ----------------------------------------------------------------------------------------------------


def test_there_is_a_rug_finished_one_on_the_loom_and_one_planned(rugs: dict[str, RugBook]) -> None:
    assert {name: rug.plan.stage for name, rug in rugs.items()} == {
        "Walled garden": RugStage.ON_LOOM,
        "Doorstep": RugStage.FINISHED,
        "Long winter": RugStage.PLANNED,
    }
    assert rugs["Doorstep"].rows_woven == rugs["Doorstep"].plan.rows == 216
    assert not rugs["Long winter"].sessions
    assert rugs["Long winter"].cartoon is None


def test_the_record_ends_the_day_before_and_stays_within_the_cartoon(garden: RugBook) -> None:
    assert len(garden.sessions) == 40
    assert garden.sessions[-1].day == TODAY - timedelta(days=1)
    assert 63 <= (garden.sessions[-1].day - garden.sessions[0].day).days <= 84
    on_loom = np.cumsum([session.rows for session in garden.sessions])
    assert on_loom.min() > 0
    assert on_loom.max() < garden.plan.rows
    assert 0.55 <= garden.rows_woven / garden.plan.rows <= 0.65


def test_two_rows_were_unpicked_once_and_one_week_was_missed(garden: RugBook) -> None:
    (unpicked,) = (session for session in garden.sessions if session.rows < 0)
    assert (unpicked.rows, unpicked.unpicked_yarn) == (-2, UnpickedYarn.SAID)
    assert sum(loss.session_id == unpicked.id for loss in garden.spoilt) >= 2
    gaps = [
        (later.day - sooner.day).days
        for sooner, later in zip(garden.sessions, garden.sessions[1:], strict=False)
    ]
    assert sum(gap > 7 for gap in gaps) == 1
    assert min(gaps) >= 1


def test_hours_are_halves_and_rows_cost_fewer_of_them_later_on(garden: RugBook) -> None:
    timed = [session for session in garden.sessions if session.hours is not None]
    assert all(
        (2 * (session.hours or 0)) % 1 == 0 and session.hours > 0 for session in timed if session.hours
    )
    assert len(timed) == 39
    alone = [session for session in timed if len(session.weavers) == 1 and session.rows > 0]

    def hours_a_row(sessions: list[Session]) -> float:
        return sum(session.hours or 0.0 for session in sessions) / sum(session.rows for session in sessions)

    assert hours_a_row(alone[:6]) > 1.15 * hours_a_row(alone[-12:])


def test_what_was_weighed_agrees_with_the_knots_tied_until_then(garden: RugBook) -> None:
    weighed = [w for w in garden.weighings if yarn_of(garden, w.yarn_id).role is Role.PILE]
    assert len(weighed) == 3
    assert len(garden.weighings) == 4
    for weighing in weighed:
        yarn = yarn_of(garden, weighing.yarn_id)
        rows = sum(session.rows for session in garden.sessions if session.day <= weighing.day)
        used_g = bought_g(garden, yarn) - spoilt_g(garden, yarn) - weighing.mass_g
        mg_per_knot = 1000.0 * used_g / knots_by_row(garden, yarn)[:rows].sum()
        assert mg_per_knot == pytest.approx(PLAN_MG_PER_KNOT * MORE_THAN_PLAN, rel=0.05)


def yarn_of(rug: RugBook, yarn_id: str) -> Yarn:
    return next(yarn for yarn in rug.yarns if yarn.id == yarn_id)


def test_balls_that_ended_agree_with_the_knots_tied(garden: RugBook) -> None:
    for yarn in garden.yarns_of(Role.PILE):
        ended = sum(
            many for session in garden.sessions for yarn_id, many in session.used if yarn_id == yarn.id
        )
        tied = knots_by_row(garden, yarn)[: garden.rows_woven].sum()
        used_g = tied * PLAN_MG_PER_KNOT * MORE_THAN_PLAN / 1000.0
        # A ball weighs within 3 % or so of what it should, and use within 5 % of the middle.
        assert ended * yarn.unit_mass_g * 0.93 <= used_g * 1.05, yarn.name
        assert used_g * 0.95 <= (ended + 1) * yarn.unit_mass_g * 1.07 + spoilt_g(garden, yarn), yarn.name


def test_shuttles_that_ended_agree_with_the_rows_woven(garden: RugBook) -> None:
    # By hand: the ground weft goes 101.6 x 1.020 + 1 cm in 1600 tex = 1.68 g a row, the sinuous one 0.96 g.
    # 199 rows were woven in all, 2 of them out again with their wefts kept: 334 g and 190 g.
    # A little more than planned, 3 %, makes 344 g and 196 g: three shuttles of 100 g are empty, and one.
    assert sum(session.rows for session in garden.sessions if session.rows > 0) == 199
    for yarn, empty in zip(garden.yarns_of(Role.WEFT), (3, 1), strict=True):
        ended = sum(
            many for session in garden.sessions for yarn_id, many in session.used if yarn_id == yarn.id
        )
        assert ended == empty, yarn.name


def test_exactly_one_colour_was_bought_too_short_and_one_just_fits(garden: RugBook) -> None:
    surplus_g, need_g = {}, {}
    for yarn in garden.yarns_of(Role.PILE):
        need_g[yarn.name] = knots_by_row(garden, yarn).sum() * PLAN_MG_PER_KNOT * MORE_THAN_PLAN / 1000.0
        surplus_g[yarn.name] = bought_g(garden, yarn) - spoilt_g(garden, yarn) - need_g[yarn.name]
    assert -400 < surplus_g.pop("Madder red") < -100
    assert abs(surplus_g.pop("Indigo")) < 0.03 * need_g["Indigo"]
    assert len(surplus_g) == 6
    assert all(surplus > 0.25 * need_g[name] for name, surplus in surplus_g.items())


def test_the_answers_say_so(garden: RugBook) -> None:
    answers = outlook(garden, TODAY)
    words = {yarn_of(garden, answer.yarn_id).name: answer.word for answer in answers.yarns}
    pile_and_wefts = {yarn.name for yarn in garden.yarns if yarn.role is not Role.WARP}
    assert words["Madder red"] is YarnWord.SHORT
    assert words["Indigo"] is YarnWord.TIGHT
    assert {name for name, word in words.items() if word is YarnWord.ENOUGH} >= pile_and_wefts - {
        "Madder red",
        "Indigo",
    }
    assert answers.finish is not None
    assert TODAY + timedelta(weeks=4) < answers.finish.middle < TODAY + timedelta(weeks=12)
    assert garden.plan.wished_day is not None
    assert answers.finish.early < garden.plan.wished_day < answers.finish.late


def test_measured_lengths_lie_near_the_plan(garden: RugBook) -> None:
    assert len(garden.measurements) == 2
    for measured in garden.measurements:
        planned_cm = measured.row / 24 * 10
        assert 0 < measured.length_cm - planned_cm < 0.025 * planned_cm


# --- the book -----------------------------------------------------------------------------------------------------


def test_the_same_day_gives_the_same_demo_and_another_day_only_moves_it() -> None:
    one, again = demo_deeds(TODAY), demo_deeds(TODAY)
    later = demo_deeds(date(2028, 2, 29))

    def sessions(deeds: tuple[Deed, ...]) -> list[Session]:
        return [value for deed in deeds for value in deed.values if isinstance(value, Session)]

    assert sessions(one) == sessions(again)
    assert [(s.rows, s.hours, s.used) for s in sessions(one)] == [
        (s.rows, s.hours, s.used) for s in sessions(later)
    ]
    assert max(deed.day for deed in later) == date(2028, 2, 28)


def test_the_diary_keeps_the_slips_of_the_finger(tmp_path: Path, demo_book: Path) -> None:
    kinds = [deed.kind for deed in demo_deeds(TODAY)]
    assert kinds.count("session corrected") == 1
    assert kinds.count("session withdrawn") == 1
    with Book.open(shutil.copy(demo_book, tmp_path / "demo.loomside")) as book:
        assert book.acts() == len(kinds)


def test_a_demo_that_is_there_keeps_what_was_tapped_into_it(tmp_path: Path, demo_book: Path) -> None:
    path = Path(shutil.copy(demo_book, tmp_path / "demo.loomside"))
    with Book.open(path) as book:
        rug = next(plan for plan in reading.rugs(book) if plan.stage is RugStage.ON_LOOM)
        with book.act("session logged") as act:
            act.write(Session(id="mine", rug_id=rug.id, day=TODAY, rows=3, hours=1.0))
    ensure_demo(path, TODAY)
    with Book.open(path) as book:
        assert reading.rug_book(book, rug.id).sessions[-1].id == "mine"


def test_a_demo_that_was_stopped_half_way_is_built_anew(tmp_path: Path) -> None:
    working(tmp_path / "demo.loomside", "half").write_bytes(b"half a book")
    path = ensure_demo(tmp_path / "demo.loomside", TODAY)
    with Book.open(path) as book:
        assert len(reading.rugs(book)) == 3
