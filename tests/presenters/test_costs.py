"""What a rug costs, in words: the same need and date as every other page, and nothing taken for nothing in silence."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from tests.presenters.rugs import book as book_of_rugs
from tests.presenters.rugs import plan, session
from tests.unit.domain.rugs import book_of, plan_of
from tests.unit.reports.books import small_answers, small_book
from tracker.domain import rules
from tracker.domain.costs import Spread
from tracker.domain.errors import BadEntry
from tracker.domain.need import account_of
from tracker.domain.order import Order, OrderItem
from tracker.domain.rug import (
    Cost,
    CostKind,
    Lot,
    PriceShown,
    Pricing,
    Role,
    RugBook,
    RugStage,
    Setting,
    Wage,
    WageBasis,
    Weaver,
    Yarn,
)
from tracker.forecast.answers import FinishAnswer, RugAhead
from tracker.forecast.outlook import outlook
from tracker.presenters.costs import (
    CURRENCIES,
    build_costs_state,
    cost_of,
    costs_text,
    costs_values,
    masses_of,
    price_offered,
    range_words,
)
from tracker.presenters.currency import currency_of
from tracker.presenters.entry_details import details
from tracker.presenters.entry_forms import form_of, to_value
from tracker.presenters.entry_text import names_of
from tracker.presenters.order import build_order_state
from tracker.presenters.record.rug_record import rug_record
from tracker.reports.csv_tables import csv_files
from tracker.reports.text_form import as_text, as_values
from tracker.words import currency_decimals, foretold_money, is_currency, money, use_currency

ANSWERS = small_answers()


def paid_book(**changes) -> RugBook:
    book = small_book()
    parts = {
        "wages": (Wage(id="w", rug_id="r", basis=WageBasis.ROWS, amount=2.5),),
        "costs": (
            Cost(id="c", rug_id="r", day=ANSWERS.day, kind=CostKind.FINISHING, amount=31.25, note="washing"),
        ),
    }
    return replace(book, **{**parts, **changes})


@pytest.mark.parametrize(
    ("code", "decimals"), [("JPY", 0), ("USD", 2), ("EUR", 2), ("KWD", 3), ("TND", 3), ("", 2)]
)
def test_each_currency_has_its_usual_decimals(code, decimals):
    # ISO 4217, list one: minor units; none named: two, as most have.
    assert currency_decimals(code) == decimals
    assert len(money(Decimal(1234), code).partition(".")[2]) == decimals


def test_every_currency_offered_is_one_of_iso_4217_and_an_unknown_one_counts_as_none():
    assert all(is_currency(code) for code in CURRENCIES)
    assert currency_of({"currency": "TRY"}) == "TRY"
    assert currency_of({"currency": "XQQ"}) == currency_of({"currency": 7}) == currency_of({}) == ""


def test_yarn_that_was_bought_and_is_not_on_hand_is_what_was_used():
    answer = next(answer for answer in ANSWERS.yarns if answer.bought_g)
    mass = masses_of(small_book(), ANSWERS)[answer.yarn_id]
    assert mass.used_g == answer.bought_g - answer.on_hand_g
    assert mass.needed_g == answer.needed_g


def test_a_later_last_row_costs_more_where_days_are_paid_and_nothing_where_rows_are():
    finish = ANSWERS.finish
    later = replace(ANSWERS, finish=replace(finish, late=finish.late + timedelta(days=30)))
    by_day = paid_book(wages=(Wage(id="w", rug_id="r", basis=WageBasis.DAYS, amount=20.0),))
    assert costs_values(by_day, later)["at_end"]["high"] > costs_values(by_day, ANSWERS)["at_end"]["high"]
    assert costs_values(paid_book(), later)["at_end"] == costs_values(paid_book(), ANSWERS)["at_end"]


def test_without_a_date_the_end_is_not_guessed_where_days_are_paid():
    by_day = paid_book(wages=(Wage(id="w", rug_id="r", basis=WageBasis.DAYS, amount=20.0),))
    silent = replace(ANSWERS, finish=None, silent_days=90)
    assert "no date" in build_costs_state(by_day, silent).at_end
    assert costs_values(by_day, silent)["at_end"] is None


def test_yarns_without_a_price_are_named():
    state = build_costs_state(paid_book(), ANSWERS)
    assert any("is missing: Indigo" in warning for warning in state.warnings)
    priced = replace(
        paid_book(), yarns=tuple(replace(yarn, price_per_kg=50.0) for yarn in small_book().yarns)
    )
    assert not any("price is missing" in warning for warning in build_costs_state(priced, ANSWERS).warnings)


@pytest.mark.parametrize("stage", [RugStage.ON_LOOM, RugStage.FINISHED])
def test_a_mounted_warp_and_woven_yarn_without_a_purchase_are_named_or_counted_by_the_plan(stage):
    warp = Yarn(id="warp", rug_id="rug", role=Role.WARP, number=1, name="Cotton, white", tex=300)
    bare = book_of_rugs(session(1, 6), plan=plan(stage=stage))
    bare = replace(bare, yarns=(*bare.yarns, warp))
    answers = outlook(bare, ANSWERS.day)
    # Nothing was noted as bought: all four are in the rug all the same. A name holds a comma, so others part the list.
    (unpriced,) = build_costs_state(bare, answers).warnings
    assert (
        "Not counted, because the price is missing: Madder; Indigo; Ground weft; Cotton, white." in unpriced
    )
    need = account_of(bare).of("warp")
    priced = replace(bare, yarns=(*bare.yarns[:3], replace(warp, price_per_kg=20.0)))
    assert float(cost_of(priced, answers).yarn_so_far) == pytest.approx(need.need_g * 0.02, abs=0.0051)
    assert (
        "No purchase is noted of Cotton, white: what the plan says is in the rug is counted."
        in build_costs_state(priced, answers).warnings
    )


def test_what_is_not_counted_is_said_each_in_a_sentence():
    book = paid_book(wages=(Wage(id="w", rug_id="r", basis=WageBasis.ROWS, amount=2.5, weaver_id="bo"),))
    # Ann tied twelve knots alone; twelve with Bo, of whom nobody said who sat where, and six of those came out again: three each are left; 31.5 were paid for madder that the plan does not have any more.
    gone = replace(book, yarns=tuple(yarn for yarn in book.yarns if yarn.id != "madder"))
    assert build_costs_state(gone, ANSWERS, "EUR").warnings == (
        "Not counted, because the price is missing: Indigo. Enter it with a purchase or in the plan.",
        "No wage is entered for 15 knots.",
        "EUR 31.50 was paid for yarn that is no longer in the plan, and is not counted.",
    )
    priced = replace(
        paid_book(), yarns=tuple(replace(yarn, price_per_kg=50.0) for yarn in small_book().yarns)
    )
    # 500 g of madder for 31.5; nobody gave the price of 250 g more.
    assert build_costs_state(priced, ANSWERS).warnings == (
        "No purchase is noted of Indigo: what the plan says is in the rug is counted.",
        "Madder: 250 g came without a price. It is counted at 63.00 a kilogram, like the rest of it.",
    )


def test_yarn_that_counts_at_the_price_of_other_purchases_says_so_and_at_which():
    book = paid_book()
    (first, *_others) = [lot for lot in book.lots if lot.price is not None]
    # 300 g for 12, so 40 a kilogram, and 150 g of which nobody gave the price.
    told = replace(first, mass_g=300.0, price=12.0)
    unsaid = replace(first, id="later", mass_g=150.0, price=None)
    others = tuple(lot for lot in book.lots if lot.yarn_id != first.yarn_id)
    name = next(yarn.name for yarn in book.yarns if yarn.id == first.yarn_id)
    words = f"{name}: 150 g came without a price. It is counted at EUR 40.00 a kilogram, like the rest of it."
    assert words in build_costs_state(replace(book, lots=(*others, told, unsaid)), ANSWERS, "EUR").warnings
    assert words in costs_text(replace(book, lots=(*others, told, unsaid)), ANSWERS, "EUR")
    for lots in ((told,), (told, replace(unsaid, price=7.0)), (unsaid,)):
        said = build_costs_state(replace(book, lots=(*others, *lots)), ANSWERS, "EUR").warnings
        assert not any("other purchases" in warning for warning in said)


def test_an_amount_that_is_sure_has_no_range():
    low, high = Decimal("10.00"), Decimal("12.50")
    assert range_words(Spread(low, low, high), "EUR") == "likely EUR 10 to 13"
    assert range_words(Spread(low, low, low), "EUR") == ""


def test_without_a_price_a_cost_is_not_known_and_not_nothing():
    book = paid_book(
        wages=(), costs=(), lots=(), yarns=tuple(replace(y, price_per_kg=None) for y in paid_book().yarns)
    )
    state = build_costs_state(book, ANSWERS)
    assert (state.so_far, state.at_end) == ("not known", "no price, wage or cost is entered")
    assert state.at_end_range == ""


def test_an_end_without_a_wage_for_everybody_says_what_is_missing():
    hers = paid_book(
        wages=(Wage(id="w", rug_id="r", basis=WageBasis.ROWS, amount=2.5, weaver_id="ann"),), sessions=()
    )
    state = build_costs_state(hers, ANSWERS)
    assert state.at_end == "not known until there is a wage for everybody, or a first row"
    assert state.at_end_range == ""


def test_page_text_json_and_tables_say_the_same():
    book = paid_book(pricings=(Pricing(id="p", rug_id="r", margin=0.4),))
    state, values = build_costs_state(book, ANSWERS, "TRY"), costs_values(book, ANSWERS, "TRY")
    text = as_text(book, ANSWERS, "TRY")
    assert state.so_far in text
    assert state.price in text
    assert state.so_far == money(Decimal(values["so_far"]), "TRY")
    assert as_values(book, ANSWERS, "TRY")["costs"] == values
    json.dumps(values)
    table = csv_files(book, ANSWERS, "TRY")["costs.csv"].decode("utf-8-sig")
    assert f'"in all","",{values["so_far"]},' in table
    assert f",{values['price']}," in table
    wages = csv_files(book, ANSWERS, "TRY")["wages.csv"].decode("utf-8-sig")
    assert all(one["amount"] in wages for one in values["earned"])


def test_the_parts_shown_add_up_to_the_sum_shown():
    values = costs_values(paid_book(), ANSWERS)
    parts = [one["so_far"] for one in values["yarns"]] + [one["amount"] for one in values["earned"]]
    parts += values["spent"].values()
    assert sum(Decimal(part) for part in parts if part is not None) == Decimal(values["so_far"])


def test_the_customers_record_tells_the_price_only_where_chosen_and_the_costs_never():
    kept = paid_book(pricings=(Pricing(id="p", rug_id="r", margin=0.4),))
    told = replace(kept, pricings=(Pricing(id="p", rug_id="r", margin=0.4, shown=PriceShown.RECORD),))
    price = build_costs_state(kept, ANSWERS, "TRY").price
    assert price
    assert "Price" not in {fact.label for fact in rug_record(kept, ANSWERS, currency="TRY").facts}
    record = rug_record(told, ANSWERS, currency="TRY")
    assert {fact.label: fact.figure for fact in record.facts}["Price"] == price
    values = costs_values(told, ANSWERS, "TRY")
    assert money(Decimal(values["so_far"]), "TRY") not in repr(record)
    assert money(Decimal("31.25"), "TRY") not in repr(record)


def test_a_book_without_money_says_nothing_of_it_in_the_text():
    bare = replace(
        small_book(), lots=(), yarns=tuple(replace(yarn, price_per_kg=None) for yarn in small_book().yarns)
    )
    assert costs_text(bare, ANSWERS) == ""


def test_a_wait_before_the_loom_is_not_paid_and_narrows_no_range():
    start = ANSWERS.day + timedelta(days=280)
    book = book_of(plan_of(knots_across=100, rows=200, start_day=start))
    book = replace(book, wages=(Wage(id="w", rug_id="rug", basis=WageBasis.DAYS, amount=20.0),))
    # The same rug, seen forty weeks before its first day and on it: it meets the same days with the same luck.
    waiting, begun = (
        costs_values(book, outlook(book, today))["wages_at_end"] for today in (ANSWERS.day, start)
    )
    assert waiting == begun
    # Nor is a wait for the rug before it on the warp, which comes off a hundred days later than planned.
    off_warp = start + timedelta(days=100)
    before = FinishAnswer(middle=off_warp - timedelta(days=1), early=start, late=off_warp)
    in_turn = RugAhead(rug_id="before", name="The rug before", finish=before)
    planned_then = replace(book, plan=replace(book.plan, start_day=off_warp))
    late, told = (
        costs_values(one, outlook(one, ANSWERS.day, ahead=in_turn))["wages_at_end"]
        for one in (book, planned_then)
    )
    assert late == told


def test_page_tables_and_sum_round_a_spending_alike():
    two = tuple(
        Cost(id=f"{n}", rug_id="r", day=ANSWERS.day, kind=CostKind.OTHER, amount=2.5) for n in range(2)
    )
    book = paid_book(wages=(), costs=two, lots=())
    assert [one.amount for one in build_costs_state(book, ANSWERS, "JPY").spending] == ["JPY 3", "JPY 3"]
    table = csv_files(book, ANSWERS, "JPY")["costs.csv"].decode("utf-8-sig").splitlines()
    assert sum(",3,3,3,3," in line for line in table) == 2


@pytest.mark.parametrize("margin", [0.1, 0.12345, 0.355, 0.94999, 0.95])
def test_a_price_opened_for_correction_and_saved_is_the_same(margin):
    pricing = Pricing(id="p", rug_id="r", margin=margin, shown=PriceShown.RECORD)
    assert to_value(form_of(pricing), small_book(), ANSWERS.day) == pricing


@pytest.mark.parametrize(
    "wrong",
    [
        Wage(id="w", rug_id="r", weaver_id="", basis=WageBasis.ROWS, amount=1.0),
        Setting(id="currency", value="try"),
        Setting(id="currency", value="123"),
    ],
)
def test_what_could_be_read_two_ways_is_refused_with_a_sentence(wrong):
    with pytest.raises(BadEntry, match=r"Choose"):
        rules.check(wrong)


def test_the_end_says_how_many_yarns_are_no_part_of_it():
    """A rug of six yarns with one price cost as much "at the end" as "so far", and nothing beside it said why."""
    dear = paid_book()
    bare = replace(dear, lots=(), yarns=tuple(replace(yarn, price_per_kg=None) for yarn in dear.yarns))
    end = build_costs_state(bare, ANSWERS, "EUR").at_end_range
    missing = len(cost_of(bare, ANSWERS, "EUR").unpriced)
    assert missing > 1
    assert end.endswith(f"without {missing} yarns that have no price")
    assert (
        "without"
        not in build_costs_state(
            replace(dear, yarns=tuple(replace(yarn, price_per_kg=9.0) for yarn in dear.yarns)), ANSWERS, "EUR"
        ).at_end_range
    )


def test_a_price_that_can_hardly_be_meant_is_asked_about_where_it_is_added_up():
    book = paid_book()
    plain = Lot(id="p1", rug_id="r", yarn_id="madder", day=date(2026, 11, 2), mass_g=80.0, price=5.0)
    slip = replace(plain, id="p2", mass_g=50.0, price=31.0, born=1)
    bought = replace(book, lots=(plain, slip))
    said = [words for words in build_costs_state(bought, ANSWERS, "EUR").warnings if "a kilogram;" in words]
    # 62.50 a kilogram, and 620 later: what was paid before is no slip because of it.
    assert len(said) == 1
    assert "That is 620.00 a kilogram; 62.50 was paid or planned before." in said[0]
    right = replace(bought, lots=(plain, replace(slip, price=3.1)))
    assert not any("a kilogram;" in words for words in build_costs_state(right, ANSWERS, "EUR").warnings)


def test_who_is_paid_by_the_day_leaves_nothing_to_share_out():
    """ "Not shared out: EUR 0.00" stood below two weavers who were both paid."""
    team = (Weaver(id="l", name="Left seat"), Weaver(id="r", name="Right seat"))
    both = replace(session(1, 5), weavers=("l", "r"))
    book = replace(book_of_rugs(both), weavers=team)

    def earned(basis: WageBasis) -> dict[str, str]:
        paid = replace(book, wages=(Wage(id="w", rug_id="rug", basis=basis, amount=10.0),))
        earnings = build_costs_state(paid, outlook(paid, both.day)).earnings
        return {one.name: one.amount for one in earnings}

    by_day = earned(WageBasis.DAYS)
    assert set(by_day) == {"Left seat", "Right seat"}
    assert set(by_day.values()) == {money(Decimal(10), "")}
    # By the row each has her half, and the page says why: nobody said who sat where.
    assert set(earned(WageBasis.ROWS).values()) == {money(Decimal(25), "")}
    by_row = replace(book, wages=(Wage(id="w", rug_id="rug", basis=WageBasis.ROWS, amount=10.0),))
    answers = outlook(by_row, both.day)
    shared = "In 1 session nobody said who sat where: its rows are shared out evenly. Correct it to say it."
    assert build_costs_state(by_row, answers).shared == shared
    assert shared in costs_text(by_row, answers)
    seated = replace(session(2, 1, weavers=("l", "r")), places=(("l", 1, 60), ("r", 61, 100)))
    with_one_said = replace(by_row, sessions=(both, seated))
    assert "as the same weavers sat on other evenings." in build_costs_state(with_one_said, answers).shared
    assert build_costs_state(replace(by_row, sessions=(seated,)), answers).shared == ""


def test_what_is_foretold_has_no_cents_and_what_was_paid_has():
    """A page said "at the end EUR 1,288.39, likely EUR 1,206.01 to EUR 1,432.69" of a wage of 11 a day."""
    by_day = paid_book(
        wages=(Wage(id="w", rug_id="r", basis=WageBasis.DAYS, amount=211.37),),
        pricings=(Pricing(id="p", rug_id="r", margin=0.25),),
    )
    cost = cost_of(by_day, ANSWERS, "EUR")
    state = build_costs_state(by_day, ANSWERS, "EUR")
    assert state.so_far == money(cost.so_far, "EUR")
    assert state.at_end.startswith("about EUR ")
    wages = next(line for line in state.lines if line.label == "Wages")
    for words in (state.at_end, state.at_end_range, state.price, wages.at_end):
        assert "EUR" in words
        assert "." not in words, words
    # Who asks the price that is said gets the margin, and no more than three digits of it.
    offered = price_offered(by_day, ANSWERS, "EUR")
    assert state.price == f"about EUR {offered:,f}"
    assert cost.price <= offered <= cost.price * Decimal("1.01")
    assert [foretold_money(Decimal(said), "EUR") for said in ("1288.31", "293.78", "51.43", "4.35")] == [
        "EUR 1,290", "EUR 294", "EUR 51", "EUR 4.35",
    ]  # fmt: skip


def test_what_would_be_left_of_an_agreed_price_is_said_on_the_orders_page_and_elsewhere_only_if_the_price_is_told():
    """The price by cost and the agreed one knew nothing of each other."""
    order = Order(id="o", rug_id="r", price=2400.0)
    book = paid_book(orders=(order,))
    left = Decimal(2400) - cost_of(book, ANSWERS, "EUR").at_end.middle
    words = build_order_state(book, ANSWERS, "EUR").left
    assert words.startswith(f"Of the agreed price about {foretold_money(left, 'EUR')} would be left")
    assert build_costs_state(book, ANSWERS, "EUR").agreed == ""
    told = replace(book, orders=(replace(order, shown=(OrderItem.PRICE,)),))
    assert build_costs_state(told, ANSWERS, "EUR").agreed == f"EUR 2,400.00\n{words}"
    dear = paid_book(orders=(replace(order, price=3.0),))
    assert "more than the agreed price" in build_order_state(dear, ANSWERS, "EUR").left


def test_amounts_read_alone_name_the_books_currency():
    """A purchase in the diary said "Price in all 31"; the shopping list "EUR 31.00"."""
    names = names_of(())
    values = (
        Lot(id="l", rug_id="r", yarn_id="m", day=ANSWERS.day, mass_g=500.0, price=31.0),
        Wage(id="w", rug_id="r", basis=WageBasis.DAYS, amount=11.0),
        Cost(id="c", rug_id="r", day=ANSWERS.day, kind=CostKind.OTHER, amount=24.5),
        replace(small_book().yarns[0], price_per_kg=62.0),
    )
    use_currency("EUR")
    for value, amount in zip(
        values, ("EUR 31.00", "EUR 11 for each day of weaving", "EUR 24.5", "EUR 62.00"), strict=True
    ):
        said = [words for _label, words in details(value, names)]
        assert amount in said, (value, said)


def test_the_bar_shows_what_was_spent_before_what_will_come_and_its_parts_are_the_tables_lines():
    book = paid_book(wages=(Wage(id="w", rug_id="r", basis=WageBasis.DAYS, amount=211.37),))
    state, cost = build_costs_state(book, ANSWERS, "EUR"), cost_of(book, ANSWERS, "EUR")
    spent = [part for part in state.bar if part.spent]
    assert state.bar[: len(spent)] == tuple(spent)
    assert sum(part.share for part in state.bar) == pytest.approx(1)
    assert sum(part.share for part in spent) == pytest.approx(float(cost.so_far / cost.at_end.middle))
    assert {part.tone for part in state.bar} == {line.tone for line in state.lines}
    # Without colour they are told apart by their order, which is the table's.
    assert [part.tone for part in spent] == [line.tone for line in state.lines]
    # What nothing more comes to stands in both columns as it was spent.
    (finishing,) = [line for line in state.lines if not line.moves]
    assert (finishing.so_far, finishing.at_end) == ("EUR 31.25", "EUR 31.25")
    assert all(line.at_end for line in state.lines)
    silent = build_costs_state(book, replace(ANSWERS, finish=None, silent_days=90), "EUR")
    assert silent.bar == ()
    assert not any(line.at_end for line in silent.lines)
