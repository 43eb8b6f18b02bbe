"""What to buy, in sentences and grams."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from tests.unit.domain.rugs import DAY, book_of, pile, weft
from tracker.domain.rug import Lot, Session, Spoilt, Weighing
from tracker.domain.shopping import BuyLine, Shopping, as_sold, buy_line, gathered_g, purchase, shopping_of


def bought(mass_g: float, mark: str = "", days: int = 0, born: int = 1, yarn_id: str = "pile1") -> Lot:
    return Lot(
        id=f"{mark}{days}{born}", rug_id="rug", yarn_id=yarn_id, day=DAY + timedelta(days=days), mass_g=mass_g,
        dye_lot=mark, born=born,
    )  # fmt: skip


HALF_A_KILO = bought(500.0)


def line_of(*lots: Lot, yarn=None, need_g: float = 1000.0) -> BuyLine:
    """1,000 g are needed, surely between 900 and 1,200; a tenth on top; skeins of 250 g."""
    yarn = yarn or pile(skein_g=250.0, margin=0.1, price_per_kg=40.0)
    return buy_line(book_of(yarns=(yarn,), lots=lots), yarn, need_g, 900.0, 1200.0)


def test_what_is_missing_with_its_margin_is_bought_in_whole_skeins() -> None:
    line = line_of()
    # 1,000 g and a tenth: 1,100 g are five skeins of 250 g at 40 a kilo.
    assert (line.skeins, line.to_buy_g, line.margin_g, line.cost) == (5, 1250.0, pytest.approx(100.0), 50.0)
    assert (line.spare_g, line.covers_high, line.bought) == (250.0, True, False)
    assert (line.need_low_g, line.need_high_g, line.on_hand_g, line.skein_g) == (900.0, 1200.0, 0.0, 250.0)


def test_what_is_still_missing_is_asked_for_from_the_bath_that_is_there_last() -> None:
    line = line_of(bought(300.0, "17"), bought(200.5, "18", days=1))
    assert (line.dye_lots, line.ask_for_lot) == (("17", "18"), "18")
    assert "600 g of colour 1 are still missing. Ask for dye lot 18." in line.warning
    assert line.warning.startswith("colour 1 comes from 2 dye lots (17 and 18).")
    unmarked = line_of(bought(500.0))
    assert unmarked.ask_for_lot == ""
    assert unmarked.warning.startswith(
        "600 g of colour 1 are still missing. Ask for the same dye lot as before."
    )
    assert line_of(bought(500.0, yarn_id="weft1"), yarn=weft(skein_g=0.0)).warning == ""
    assert line_of(bought(1100.0, "17")).warning == ""


def test_enough_for_the_need_and_its_margin_leaves_nothing_to_buy() -> None:
    line = line_of(bought(1100.0, "17"))
    assert (line.bought, line.to_buy_g, line.covers_high) == (True, 0.0, False)
    assert line_of(bought(1200.0, "17")).covers_high
    assert not line_of(bought(1099.0, "17")).bought


@pytest.mark.parametrize(
    ("short_g", "skein_g", "least_g", "skeins", "grams"),
    [
        (0.0, 250.0, 500.0, 0, 0.0), (-5.0, 250.0, 500.0, 0, 0.0), (0.5, 250.0, 0.0, 1, 250.0),
        (250.0, 250.0, 0.0, 1, 250.0), (250.1, 250.0, 0.0, 2, 500.0), (10.0, 250.0, 600.0, 3, 750.0),
        # By the gram, to the next ten and not below the least.
        (101.0, 1.0, 0.0, 0, 110.0), (110.0, 1.0, 0.0, 0, 110.0), (101.0, 0.0, 500.0, 0, 500.0),
        (15.0, 1.5, 0.0, 10, 15.0),
    ],
)  # fmt: skip
def test_skeins_and_grams_to_buy(short_g, skein_g, least_g, skeins, grams) -> None:
    assert purchase(short_g, skein_g, least_g) == (skeins, grams)


def test_the_list_adds_up_what_has_a_price_and_names_what_has_none() -> None:
    red = line_of()
    blue = replace(red, yarn_id="b", number=2, name="Blue", dyer="Zoe's yard", cost=None, to_buy_g=500.0)
    done = replace(red, yarn_id="d", number=3, name="Done", dyer="annex", cost=None, to_buy_g=0.0)
    shopping = shopping_of((red, blue, done))
    assert [line.name for line in shopping.lines] == ["Done", "Blue", "colour 1"]
    assert (shopping.total_g, shopping.cost, shopping.without_price) == (1750.0, 50.0, ("Blue",))
    assert [dyer for dyer, _lines in shopping.by_dyer()] == ["annex", "Zoe's yard", ""]
    assert Shopping(lines=()).cost == 0.0


def test_of_one_dyer_the_pile_comes_first_and_then_by_number() -> None:
    red = line_of()
    later, cord = replace(red, number=2, yarn_id="2"), line_of(yarn=weft(), need_g=50.0)
    assert [(line.role, line.number) for line in shopping_of((cord, later, red)).lines] == [
        (red.role, 1), (red.role, 2), (cord.role, 1),
    ]  # fmt: skip


def weighed(mass_g: float, days: int, born: int) -> Weighing:
    return Weighing(
        id=f"w{days}{born}", rug_id="rug", yarn_id="pile1", day=DAY + timedelta(days=days), mass_g=mass_g,
        born=born,
    )  # fmt: skip


def spoilt(mass_g: float, days: int, born: int) -> Spoilt:
    return Spoilt(
        id="x", rug_id="rug", yarn_id="pile1", day=DAY + timedelta(days=days), mass_g=mass_g, born=born
    )


def test_what_came_and_went_after_a_weighing_counts_beside_it() -> None:
    def there(weighings=(), lots=(HALF_A_KILO,), lost=(), sessions=()) -> float:
        rug = book_of(weighings=weighings, lots=lots, spoilt=lost, sessions=sessions)
        return gathered_g(rug, rug.yarns[0])

    scale = weighed(480.0, 1, 5)
    assert there() == 500.0
    assert there((scale,)) == 480.0
    # The last weighing counts; on its own day what was entered before it lay on the scale.
    assert there((scale, weighed(470.0, 2, 7))) == 470.0
    assert there((scale,), (bought(500.0), bought(100.0, days=1, born=6))) == 580.0
    assert there((scale,), (bought(500.0), bought(100.0, days=1, born=4))) == 480.0
    assert there((scale,), lost=(spoilt(30.0, 1, 6),)) == 450.0
    assert there((scale,), lost=(spoilt(30.0, 1, 4),)) == 480.0
    assert there((scale,), lost=(spoilt(900.0, 2, 6),)) == 0.0
    assert there(lost=(spoilt(900.0, 0, 2),)) == 0.0
    # From the first row on part of the yarn is in the rug: the scale no longer says what was gathered.
    woven = Session(id="s", rug_id="rug", day=DAY + timedelta(days=1), rows=3)
    assert there((scale,), sessions=(woven,)) == 500.0
    assert there((scale,), sessions=(replace(woven, day=DAY + timedelta(days=2)),)) == 480.0
    assert there((replace(scale, yarn_id="other"),)) == 500.0


def test_how_yarn_is_sold_is_its_own_line_before_what_holds_for_all() -> None:
    settings = {"skein_g": 100, "least_purchase_g": 300}
    sold = as_sold(pile(), settings)
    assert (sold.skein_g, sold.least_purchase_g) == (100.0, 300.0)
    own = as_sold(pile(skein_g=50.0), settings)
    assert (own.skein_g, own.least_purchase_g) == (50.0, 0.0)
    nobody = as_sold(pile(skein_g=500.0, least_purchase_g=1000.0), {})
    assert (nobody.skein_g, nobody.least_purchase_g) == (0.0, 0.0)
