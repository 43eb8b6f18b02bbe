"""What a rug needs of a yarn, what is there and what to buy: one sum and one word each, on every page that tells them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from tracker.domain.material_plan import spread
from tracker.domain.need import account_of, is_in_rug
from tracker.domain.rows import rows_to_weave
from tracker.domain.rug import Role, RugBook, Yarn
from tracker.domain.shopping import BuyLine, bought_once, buy_line, chance_to_last
from tracker.forecast.answers import YarnAnswer
from tracker.forecast.reckon import rows_wanted
from tracker.presenters.answer_words import mass_range_in_full, mass_with_range
from tracker.words import _, mass, mass_each, n_, number, shown_difference_g, shown_g

UNTOUCHED = 1e-4
"""Relative difference up to which the plan's need and the forecast's are one: the forecast draws, the plan reckons."""


@dataclass(frozen=True, slots=True)
class Buy:
    """What to buy of one yarn."""

    skeins: int
    mass_g: float
    cost: float | None
    least_g: float = 0.0
    """What is sold at least, where that is why so much is to buy; 0 where it is not."""
    want_g: float = 0.0
    """What is missing for it to last as surely as is wished, before that is rounded up to what is sold."""
    chance: float = 1.0
    """Chance that it lasts with that."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How one yarn of a rug stands, masses in g; a range is an 80 % range."""

    whole_g: float
    """What the whole rug needs of it by the plan."""
    whole_low_g: float
    whole_high_g: float
    needed_g: float
    """What is still needed from today on: of a yarn that is used once all of it, until it is in the rug."""
    needed_low_g: float
    needed_high_g: float
    on_hand_g: float
    on_hand_low_g: float
    on_hand_high_g: float
    buy: Buy
    part_of_warp: bool
    """Whether it is this rug's part of a warp that several rugs share."""

    @property
    def missing_g(self) -> float:
        """What is on hand less than still needed, as the two are said; below zero where some is over."""
        return shown_difference_g(self.needed_g, self.on_hand_g)


def used_once_words(book: RugBook, yarn: Yarn) -> str:
    """Say where a yarn is that is used once and is in use: a warp or cord hangs on the loom until the rug is cut off."""
    if yarn.role in (Role.WARP, Role.CORD):
        from tracker.presenters.guide import (
            is_cut_off,
        )  # where a warp is told only: the first view waits for no more

        if not is_cut_off(book):
            return _("on the loom")
    return _("in the rug")


def plan_lines_of(book: RugBook) -> dict[str, BuyLine]:
    """Return the plan's line of each yarn, by its id: by the account that the material plan is reckoned from."""
    account = account_of(book, rows_to_weave(book, rows_wanted(book)))
    lines = {}
    for yarn in book.yarns:
        need = account.of(yarn.id)
        needed = (0.0, 0.0, 0.0)
        if need is not None:
            needed = (need.need_g, *spread(need.need_g, need.relative_sd))
        lines[yarn.id] = buy_line(book, yarn, *needed)
    return lines


def buy_of(line: BuyLine, answer: YarnAnswer | None, yarn: Yarn) -> Buy:
    """Return what to buy of a yarn: what the forecast asks for.

    The warp and the edges have no forecast and follow the plan's need and margin.
    """
    skeins, grams = (line.skeins, line.to_buy_g) if answer is None else (answer.order_skeins, answer.order_g)
    priced = yarn.price_per_kg is not None and grams > 0
    least_g = yarn.least_purchase_g
    is_least = yarn.skein_g < least_g and 0 < grams < least_g + max(yarn.skein_g, 1.0)
    want_g = max(line.need_g + line.margin_g - line.on_hand_g, 0.0) if answer is None else answer.want_g
    return Buy(
        skeins,
        grams,
        grams / 1000 * (yarn.price_per_kg or 0.0) if priced else None,
        least_g if is_least else 0.0,
        want_g,
        chance_to_last(line.on_hand_g + want_g, line.need_g, line.need_high_g)
        if answer is None
        else answer.want_chance,
    )


def standing_of(book: RugBook, line: BuyLine, answer: YarnAnswer | None, yarn: Yarn) -> Standing:
    """Return how a yarn stands, by the forecast where it has one; `line` is the plan's."""
    used_up = answer is None and is_in_rug(book, yarn)
    if answer is not None:
        needed = (answer.needed_g, answer.needed_low_g, answer.needed_high_g)
        on_hand = (answer.on_hand_g, answer.on_hand_low_g, answer.on_hand_high_g)
        if math.isclose(answer.needed_g, line.need_g, rel_tol=UNTOUCHED):
            # Nothing of it is woven and nothing was learnt: what the rest needs is what the rug needs, its range too.
            line = replace(line, need_low_g=answer.needed_low_g, need_high_g=answer.needed_high_g)
    elif used_up:
        # What is left of a mounted warp lies on the shelf.
        needed = (0.0, 0.0, 0.0)
        on_hand = (max(0.0, shown_difference_g(line.on_hand_g, line.need_g)),) * 3
    else:
        needed, on_hand = (line.need_g, line.need_low_g, line.need_high_g), (line.on_hand_g,) * 3
    return Standing(
        whole_g=line.need_g,
        whole_low_g=line.need_low_g,
        whole_high_g=line.need_high_g,
        needed_g=needed[0],
        needed_low_g=needed[1],
        needed_high_g=needed[2],
        on_hand_g=on_hand[0],
        on_hand_low_g=on_hand[1],
        on_hand_high_g=on_hand[2],
        buy=buy_of(line, answer, yarn),
        part_of_warp=not used_up and bought_once(book, yarn) is not None,
    )


def whole_range_words(standing: Standing) -> str:
    """Say between what the mass of the plan is likely to lie: "likely 1.25 kg to 1.35 kg"; "" where it is known."""
    return mass_range_in_full(standing.whole_low_g, standing.whole_high_g)


def stand_words(standing: Standing) -> str:
    """Say what is still needed and what is on hand; of nothing, nothing is said.

    Where more is to buy though nothing is missing, between what it may lie: that is why.
    """
    needed = _("still needed {mass}").format(
        mass=mass_with_range(standing.needed_g, standing.needed_low_g, standing.needed_high_g)
    )
    if shown_g(standing.on_hand_g) == 0:
        return needed
    there = mass(standing.on_hand_g)
    if standing.buy.mass_g and standing.missing_g <= 0:
        there = mass_with_range(standing.on_hand_g, standing.on_hand_low_g, standing.on_hand_high_g)
    on_hand = _("on hand {mass}").format(mass=there)
    if standing.part_of_warp:
        on_hand = _("{on_hand}, its part of the whole warp").format(on_hand=on_hand)
    return f"{needed}, {on_hand}"


def amount_words(buy: Buy) -> str:
    """Return what to ask for at the counter: whole skeins, or grams where nobody said how the yarn is sold."""
    if not buy.skeins:
        return mass(buy.mass_g)
    return n_("{count} skein of {mass}", "{count} skeins of {mass}", buy.skeins).format(
        count=number(buy.skeins), mass=mass_each(buy.mass_g, buy.skeins)
    )


CASES = (
    (0.99, 99, 100),
    (0.98, 49, 50),
    (0.95, 19, 20),
    (0.9, 9, 10),
    (0.8, 4, 5),
    (0.75, 3, 4),
    (0.5, 1, 2),
)
"""From what chance on it is said that something is so in how many of how many cases: never more than it is."""


def _so_that_it_lasts(chance: float) -> str:
    """Say what a reserve is for, and how surely it does."""
    for least, many, of_all in CASES:
        # Draws are counted: what is bought for a chance may hold one draw less.
        if chance >= least - 1e-3:
            return _("{more} so that it is enough in {many} of {all} cases").format(
                more="{more}", many=number(many), all=number(of_all)
            )
    return _("{more} as a reserve")


def sum_words(standing: Standing) -> str:
    """Say how what is to buy comes about, as a sum that adds up: "578 g still needed − 333 g on hand + 55 g so that ...".

    Every page that says what is to buy says it so. "" where nothing is to buy, and of a warp that is bought once for several rugs.
    """
    buy = standing.buy
    if buy.mass_g <= 0 or standing.part_of_warp:
        return ""
    needed = (
        mass(standing.needed_g)
        if shown_g(standing.needed_g)
        else _("less than {mass}").format(mass=mass(1.0))
    )
    words = _("{mass} still needed").format(mass=needed)
    if shown_g(standing.on_hand_g):
        words = _("{needed} − {mass} on hand").format(needed=words, mass=mass(standing.on_hand_g))
    more_g = shown_difference_g(buy.mass_g, standing.missing_g)
    reserve_g = max(shown_g(buy.want_g) - standing.missing_g, 0.0)
    if (not buy.skeins and not buy.least_g) or shown_g(reserve_g) > more_g:
        reserve_g = more_g
    rounding_g = more_g - reserve_g
    if shown_g(reserve_g) > 0:
        words = f"{words} + " + _so_that_it_lasts(buy.chance).format(more=mass(reserve_g))
    if shown_g(rounding_g) > 0:
        sold = (
            _("{more} because no less than {least} is sold").format(
                more=mass(rounding_g), least=mass(buy.least_g)
            )
            if buy.least_g
            else _("{more} to whole skeins").format(more=mass(rounding_g))
        )
        words = f"{words} + {sold}"
    return words
