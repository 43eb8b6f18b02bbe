"""The shopping list for reading in a shop: by dyer, each yarn in whole skeins, ticked off as it is bought."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from tracker.domain.costs import rounded
from tracker.domain.material_plan import MaterialPlan
from tracker.domain.need import is_in_rug
from tracker.domain.rug import Lot, Role, RugBook, Yarn
from tracker.domain.shared_warp import SharedWarp
from tracker.domain.shopping import LEAST_SETTING, LOOSE_G, SKEIN_SETTING, BuyLine, is_noted
from tracker.forecast.answers import Answers, YarnAnswer
from tracker.presenters import entry_forms
from tracker.presenters.answer_words import code_of
from tracker.presenters.entries.form import EntryForm, FormKind
from tracker.presenters.plan.view import Line
from tracker.presenters.standing import (
    Buy,
    amount_words,
    buy_of,
    stand_words,
    standing_of,
    sum_words,
    used_once_words,
)
from tracker.presenters.warp_words import buying_words
from tracker.presenters.yarn import mixed_words
from tracker.presenters.yarn_answers import CountAsk, count_asks
from tracker.presenters.yarn_shelf import YarnPart, offer_words
from tracker.words import (
    _,
    currency_decimals,
    mass,
    money,
    n_,
    number,
    one_after_another,
    shown_g,
    shown_sum_g,
)


@dataclass(frozen=True, slots=True)
class ShoppingLine:
    """One yarn on the list."""

    yarn_id: str
    swatch: str
    number: str
    name: str
    amount: str
    """What to ask for at the counter: "5 skeins of 500 g"."""
    mass: str
    cost: str
    note: str
    """Why so much: how it comes about, as a sum."""
    warning: str
    bought: bool
    lot: str = ""
    """The dye lot to ask for."""
    offer: str = ""
    """What of it lies on the yarn shelf."""


@dataclass(frozen=True, slots=True)
class ShoppingGroup:
    """What one dyer is asked for."""

    dyer: str
    lines: tuple[ShoppingLine, ...]
    left: str


@dataclass(frozen=True, slots=True)
class ShoppingState:
    """What the shopping page shows."""

    headline: str
    cost: str
    groups: tuple[ShoppingGroup, ...]
    done: bool
    why: str = ""
    """Why more is proposed than the rug needs; "" when nothing is to buy."""
    buys: int = 0
    """Yarns that are still to buy."""
    offers: int = 0
    """Yarns of the list of which some lies on the shelf."""
    asks_counts: tuple[CountAsk, ...] = ()
    """Yarns to buy whose count nobody gave: the page asks for it, and proposes more for safety until then."""
    asks_how_sold: bool = False
    """Something is to be bought of which nobody said how it is sold: the page asks once, and proposes grams until then."""


BY_THE_GRAM_G = round(LOOSE_G)
"""The skein that says: by the gram."""


def lot_asked(line: BuyLine, buy: Buy) -> str:
    """Return the dye lot to ask for at the counter, where some of the yarn is there already; else ""."""
    if not (buy.mass_g and line.on_hand_g and line.role is Role.PILE):
        return ""
    if line.ask_for_lot:
        return _("dye lot {lot}").format(lot=line.ask_for_lot)
    return _("the same dye lot as before")


def shopping_line(
    book: RugBook,
    line: BuyLine,
    answer: YarnAnswer | None,
    yarn: Yarn,
    currency: str = "",
    offers: Sequence[YarnPart] = (),
    shared: SharedWarp | None = None,
) -> ShoppingLine:
    """Return one yarn's line in words; `shared` is the warp where other rugs share it."""
    standing = standing_of(book, line, answer, yarn)
    buy = standing.buy
    amount = amount_words(buy) if buy.mass_g else _("bought")
    notes = [sum_words(standing) or stand_words(standing)]
    if answer is None and not buy.mass_g and not is_noted(book, yarn) and is_in_rug(book, yarn):
        amount = used_once_words(book, yarn)
        notes = [_("no purchase is noted; for the whole rug {need}").format(need=mass(standing.whole_g))]
    elif buy.mass_g and shared is not None and line.role is Role.WARP:
        notes.append(buying_words(shared, book.plan.id))
    return ShoppingLine(
        yarn_id=line.yarn_id,
        swatch=line.swatch,
        number=code_of(line.role, line.number),
        name=line.name,
        amount=amount,
        mass=mass(buy.mass_g) if buy.skeins else "",
        cost="" if buy.cost is None else priced(buy.cost, currency),
        note=" ".join(part if part.endswith(".") or part is notes[-1] else f"{part}." for part in notes),
        warning=mixed_words(line.dye_lots) if len(line.dye_lots) > 1 and line.role is Role.PILE else "",
        lot=lot_asked(line, buy),
        bought=not buy.mass_g,
        offer=offer_words(offers) if offers and buy.mass_g else "",
    )


def priced(cost: float, currency: str) -> str:
    """Return a price as every page says it."""
    return money(rounded(cost, currency_decimals(currency)), currency)


def build_shopping_state(
    book: RugBook,
    plan: MaterialPlan,
    answers: Answers | None,
    currency: str = "",
    offers: Mapping[str, Sequence[YarnPart]] | None = None,
) -> ShoppingState:
    """Return the list in words; `offers` is what lies on the yarn shelf, by the id of the yarn it would do for."""
    offers = offers or {}
    offered = 0
    yarns = {yarn.id: yarn for yarn in book.yarns}
    by_yarn = {} if answers is None else {answer.yarn_id: answer for answer in answers.yarns}
    groups = []
    mass_g, cost = 0.0, Decimal(0)
    without_price: list[str] = []
    to_buy = 0
    missing = unsaid = False
    bought_ids: set[str] = set()
    for dyer, buy_lines in plan.shopping.by_dyer():
        lines = []
        group_g = 0.0
        for line in buy_lines:
            yarn, answer = yarns[line.yarn_id], by_yarn.get(line.yarn_id)
            standing = standing_of(book, line, answer, yarn)
            buy = standing.buy
            lines.append(
                shopping_line(book, line, answer, yarn, currency, offers.get(yarn.id, ()), plan.shared_warp)
            )
            offered += bool(lines[-1].offer)
            if buy.mass_g:
                to_buy += 1
                missing |= standing.missing_g > 0
                bought_ids.add(yarn.id)
                unsaid |= not yarn.skein_g
                group_g += shown_g(buy.mass_g)
                cost += rounded(buy.cost or 0.0, currency_decimals(currency))
                if buy.cost is None:
                    without_price.append(line.name)
        mass_g += group_g
        groups.append(
            ShoppingGroup(
                dyer=dyer or _("Dyer not given"),
                # What is still to buy stands first, before it what lies on the shelf already.
                lines=tuple(sorted(lines, key=lambda line: (line.bought, not line.offer))),
                left=_("{mass} to buy").format(mass=mass(group_g)) if group_g else _("all bought"),
            )
        )
    # Dyers from whom nothing is needed any more stand last.
    groups.sort(key=lambda group: all(line.bought for line in group.lines))
    if not to_buy:
        return ShoppingState(_("Everything is bought."), "", tuple(groups), True)
    headline = n_("{count} yarn to buy, {mass}", "{count} yarns to buy, {mass}", to_buy).format(
        count=number(to_buy), mass=mass(mass_g)
    )
    costs = ""
    if cost:
        costs = _("price {cost} in all").format(cost=money(cost, currency))
        if without_price:
            costs = _("price {cost}, without {names}").format(
                cost=money(cost, currency), names=one_after_another(without_price)
            )
    why = (
        _("If you knot and weigh a sample, less is left over.")
        if missing
        else _("For safety: it may last as it is. Weigh what is left, and you may need none of it.")
    )
    if any(line.lot for group in groups for line in group.lines):
        why += " " + _("If a dye lot is gone, buy all that is still needed of its yarn from one bath.")
    counts = count_asks(book, bought_ids)
    return ShoppingState(headline, costs, tuple(groups), False, why, to_buy, offered, counts, unsaid)


@dataclass(frozen=True, slots=True)
class SoldState:
    """The question how yarn is sold, as far as it is answered."""

    skein: Line
    least: Line
    can_save: bool


def build_sold_state(skein_g: int | None, least_g: int | None) -> SoldState:
    """Return the question in words; a skein must be given, a least purchase may be left out."""
    return SoldState(
        Line(_("One skein"), mass(skein_g) if skein_g else _("not said")),
        Line(_("Least of a colour"), mass(least_g) if least_g else _("none")),
        bool(skein_g),
    )


def sold_settings(skein_g: int, least_g: int | None) -> dict[str, int]:
    """Return the settings in which the book keeps the answer."""
    return {SKEIN_SETTING: skein_g, LEAST_SETTING: least_g or 0}


def sold_words(skein_g: int) -> str:
    """Say how yarn is sold, once that was answered."""
    if skein_g <= BY_THE_GRAM_G:
        return _("Yarn is sold by the gram.")
    return _("Yarn is sold in skeins of {mass}.").format(mass=mass(skein_g))


def all_bought_question(words: ShoppingState) -> str:
    """Return the question before everything on the list is entered as bought."""
    return _("{headline}: bought as listed, today?").format(headline=words.headline)


def all_bought_words(lots: tuple[Lot, ...]) -> str:
    """Say that everything on the list was entered, and where a dye lot goes."""
    return n_(
        "{count} yarn bought, {mass}. Tap it to note its dye lot.",
        "{count} yarns bought, {mass}. Tap one to note its dye lot.",
        len(lots),
    ).format(count=number(len(lots)), mass=mass(shown_sum_g(lot.mass_g for lot in lots)))


def lot_form(
    book: RugBook, plan: MaterialPlan, answers: Answers | None, yarn_id: str, today: date
) -> EntryForm:
    """Return the form of a purchase with what the list says already filled in."""
    form = entry_forms.blank(FormKind.LOT, book, today, yarn_id)
    line = next(line for line in plan.shopping.lines if line.yarn_id == yarn_id)
    yarn = next(yarn for yarn in book.yarns if yarn.id == yarn_id)
    answer = None if answers is None else next((a for a in answers.yarns if a.yarn_id == yarn_id), None)
    buy = buy_of(line, answer, yarn)
    if buy.mass_g:
        form = form.with_answer("mass_g", round(buy.mass_g))
    if buy.cost is not None:
        form = form.with_answer("price", round(buy.cost, 2))
    return form
