"""The page of costs by real touches: a wage entered, corrected and taken back, a cost, a price, the currency."""

from __future__ import annotations

from tests.ui.handed_time import pass_time
from tracker.previews.draw import settle


def typed(hand, digits: str) -> None:
    for digit in digits:
        hand.tap(digit)
    hand.tap("Done")


def test_a_wage_is_entered_by_touch_and_earned_by_who_wove(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Yarn")
    hand.tap("Costs")
    desk, page = hand.app.desk, hand.shell.page
    before = len(desk.rug.wages)
    hand.tap("Enter a wage")
    hand.tap("What is paid for")
    hand.tap("rows")
    hand.tap("Save")
    assert hand.sees("One answer is missing: Wage")
    hand.tap("Wage")
    typed(hand, "6")
    hand.tap("Paid for each")
    typed(hand, "1")
    hand.tap("Save")
    settle()
    assert len(desk.rug.wages) == before + 1
    wage = desk.rug.wages[-1]
    assert (wage.amount, wage.each, wage.basis, wage.weaver_id) == (6.0, 1, "rows", None)
    hand.tap("Undo")
    settle()
    assert len(desk.rug.wages) == before
    assert hand.shell.page is page


def test_a_cost_moves_the_sum_and_comes_back_with_its_undo(open_app, demo) -> None:
    hand = open_app(demo)
    hand.shell.go("costs")
    settle()
    head = next(words for words in hand.words() if words.startswith("EUR"))
    hand.tap("Enter a cost")
    hand.tap("Amount")
    typed(hand, "100")
    hand.tap("For")
    hand.tap("Finishing")
    hand.tap("Save")
    settle()
    assert [cost.kind for cost in hand.app.desk.rug.costs][-1] == "finishing"
    after = next(words for words in hand.words() if words.startswith("EUR"))
    assert amount(after) - amount(head) == 100
    hand.tap("Undo")
    settle()
    assert next(words for words in hand.words() if words.startswith("EUR")) == head


def amount(words: str) -> float:
    return float(words.removeprefix("EUR").strip().replace(",", ""))


def test_a_margin_makes_a_price_and_a_currency_its_decimals(open_app, demo) -> None:
    hand = open_app(demo)
    hand.shell.go("costs")
    settle()
    hand.tap("Price by cost and margin")
    hand.tap("Margin")
    typed(hand, "50")
    hand.tap("Save")
    settle()
    (pricing,) = hand.app.desk.rug.pricings
    assert pricing.margin == 0.5
    pass_time(7)  # what is said lies over the key
    hand.tap("Currency")
    hand.tap("Japanese Yen (JPY)")
    settle()
    assert hand.app.desk.setting("currency") == "JPY"
    assert hand.sees("Prices are in Japanese Yen (JPY).")
    assert any(words.startswith("JPY") and "." not in words for words in hand.words())
