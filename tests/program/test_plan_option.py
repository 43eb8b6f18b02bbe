"""`--plan`: the whole material plan on a machine without a screen, as text and as values."""

from __future__ import annotations

import json
import shutil
from datetime import date
from pathlib import Path

import pytest

from tracker.app.desk import Desk
from tracker.command_line.main import main
from tracker.domain.material_plan import material_plan
from tracker.forecast.reckon import rows_wanted
from tracker.presenters import whole_plan

DAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def demo(tmp_path_factory, demo_book) -> str:
    return str(shutil.copy(demo_book, tmp_path_factory.mktemp("demo") / "demo.loomside"))


def test_the_plan_alone_is_printed_without_the_answers(demo, capsys) -> None:
    assert main(["--book", demo, "--day", DAY.isoformat(), "--plan"]) == 0
    text = capsys.readouterr().out
    assert text.startswith("Material for Walled garden")
    # 241 knots, two warps each, and eight for the selvedges.
    assert "490 warps" in text
    assert "Last row about" not in text


def test_the_plan_stands_beside_the_answers_in_the_values(demo, capsys) -> None:
    assert main(["--book", demo, "--day", DAY.isoformat(), "--json", "--plan", "--rug", "all"]) == 0
    rugs = json.loads(capsys.readouterr().out)["rugs"]
    assert len(rugs) > 1
    for rug in rugs:
        assert rug["material"]["knots"] == rug["where"]["knots"]
        # What every yarn is ordered by the answers is what the shopping list buys.
        to_buy = {line["yarn_id"]: line["buy"]["mass_g"] for line in rug["material"]["shopping"]}
        for yarn in rug["yarns"]:
            assert to_buy[yarn["yarn_id"]] == pytest.approx(yarn["order_g"])


def test_the_plan_has_the_hours_of_preparation_that_the_page_has(demo, capsys) -> None:
    desk = Desk(Path(demo), today=lambda: DAY, background=False)
    desk.open()
    try:
        # The rug that is only planned learns the times of preparation from the one on the loom.
        desk.choose(next(plan.id for plan in desk.plans if plan.name == "Long winter"))
        page = whole_plan.WholePlan().of(desk)
        alone = material_plan(desk.rug, rows=rows_wanted(desk.rug), taught=desk.answers.taught)
    finally:
        desk.drafts.put("rug in hand", None)
        desk.close()
    assert page.preparation.hours_all != pytest.approx(alone.preparation.hours_all)
    assert main(["--book", demo, "--day", DAY.isoformat(), "--json", "--plan", "--rug", "Long winter"]) == 0
    (rug,) = json.loads(capsys.readouterr().out)["rugs"]
    assert rug["material"]["preparation"]["hours_all"] == pytest.approx(page.preparation.hours_all, abs=1e-3)


def test_without_the_option_no_plan_is_printed(demo, capsys) -> None:
    assert main(["--book", demo, "--day", DAY.isoformat(), "--json"]) == 0
    assert "material" not in json.loads(capsys.readouterr().out)["rugs"][0]


def test_the_desk_gives_the_plan_the_pace_that_the_forecast_took(demo, monkeypatch) -> None:
    desk = Desk(Path(demo), today=lambda: DAY, background=False)
    desk.open()
    try:
        for plan in desk.plans:
            assert desk.taught_pace(plan.id) == desk.answers_for(plan.id)[1].taught
        # A rug that is not saved yet learns from every finished one; the demo has one.
        assert desk.taught_pace("not saved yet").rugs == 1
        looms = desk.looms()
        # Whoever begins another one waits for no rug to be read again, nor for the looms.
        monkeypatch.setattr(type(desk.book), "rug_book", lambda *_args: pytest.fail("read again"))
        monkeypatch.setattr(type(desk.book), "looms", lambda *_args: pytest.fail("read again"))
        assert desk.taught_pace("another").rugs == 1
        assert desk.looms() is looms
    finally:
        desk.close()
