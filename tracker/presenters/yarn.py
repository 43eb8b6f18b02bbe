"""The yarn page and the story of one yarn: what is on hand, what the rest needs, when it ends, what to order."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TypeVar

from tracker.domain.dye_lots import planned_change
from tracker.domain.hand_out import HandOut
from tracker.domain.lot_change import LotChange
from tracker.domain.lot_moves import CameBy, MovedLot, came_by
from tracker.domain.need import is_in_rug
from tracker.domain.rug import (
    Lot,
    Preparation,
    Role,
    RugBook,
    Sample,
    Session,
    Spoilt,
    Weighing,
    Yarn,
)
from tracker.domain.shopping import BuyLine
from tracker.domain.weighing_answer import answers_a_weighing
from tracker.forecast.answers import Answers, Told, YarnAnswer, YarnWord
from tracker.forecast.thresholds import MOVED_SINCE_DAYS, VERY_LIKELY_ABOVE
from tracker.presenters.answer_words import (
    TONES,
    chance_words,
    day_near,
    ends_before,
    mass_range,
    mass_range_in_full,
    may_end_from,
    may_just_last,
    may_run_short,
    nothing_bought,
    probably_enough,
    record_doubt_words,
    spare_words,
    to_buy_words,
    word_of_need,
    yarn_code,
    yarn_words,
)
from tracker.presenters.dye_lots import LotsState, build_lots_state, change_words, lots_line
from tracker.presenters.entries.form import FormKind
from tracker.presenters.entries.of_yarn import dye_lots_on_hand
from tracker.presenters.entry_text import (
    handed_words,
    moved_words,
    names_of,
    prepared_words,
    used_words,
)
from tracker.presenters.fact import Fact
from tracker.presenters.home_state import YarnTone
from tracker.presenters.standing import (
    Standing,
    plan_lines_of,
    standing_of,
    sum_words,
    used_once_words,
)
from tracker.presenters.weighed import WeighedChoice, weighing_choices, weighing_question
from tracker.words import (
    _,
    day,
    day_short,
    days_from_to,
    mass,
    mass_as_weighed,
    money,
    n_,
    number,
    one_after_another,
    shown_g,
    small_mass,
)


@dataclass(frozen=True, slots=True)
class YarnCard:
    """One yarn on the yarn page."""

    yarn_id: str
    number: str
    name: str
    swatch: str
    word: str
    tone: str
    on_hand: str
    needed: str
    ends: str
    """When it ends, or what is mixed; "" when there is nothing to say."""
    share: float
    role: Role


@dataclass(frozen=True, slots=True)
class YarnState:
    """The yarn page."""

    headline: str
    tone: str
    hint: str
    cards: tuple[YarnCard, ...]
    first: bool
    """True while nothing has been bought: the page then says what to do first."""


def ends_words(answer: YarnAnswer, rows: int, today: date) -> str:
    """Say where and when a yarn ends; "" when it lasts to the last row of `rows`."""
    if not ends_before(answer, rows) or answer.runs_out_row is None:
        return ""
    if answer.runs_out_day is None:
        return _("ends at row {row}").format(row=number(answer.runs_out_row))
    return _("ends at row {row}, about {day}").format(
        row=number(answer.runs_out_row), day=day_short(answer.runs_out_day, today)
    )


def order_words(yarn: Yarn, answer: YarnAnswer, today: date, lots: tuple[str, ...] = ()) -> str:
    """Say what to buy and by when; "" when nothing need be bought."""
    if answer.order_g <= 0:
        return ""
    what = mass(answer.order_g)
    if answer.order_skeins:
        what = n_("{mass} ({skeins} skein)", "{mass} ({skeins} skeins)", answer.order_skeins).format(
            mass=what, skeins=number(answer.order_skeins)
        )
    if lots:
        what = _("{what} of dye lot {lot}").format(what=what, lot=" / ".join(lots))
    if answer.order_by is None:
        return _("Buy {what}.").format(what=what)
    if may_just_last(answer):
        if answer.order_by <= today:
            words = _("{lasts} To be sure, buy {what} now.")
        else:
            words = _("{lasts} To be sure, buy {what} by {day}.")
        lasts = _("It will probably last.") if probably_enough(answer) else _("It may just last.")
        return words.format(lasts=lasts, what=what, day=day(answer.order_by, today))
    comes = today + timedelta(days=yarn.lead_days)
    if answer.word is YarnWord.NOT_BOUGHT and answer.runs_out_day is not None and answer.runs_out_day < comes:
        return _("Buy {what} now. It may come about {comes}, and is needed from about {begins} on.").format(
            what=what, comes=day_near(comes, today), begins=day_near(answer.runs_out_day, today)
        )
    if answer.runs_out_day is not None and answer.runs_out_day < comes:
        return _("Buy {what} now. It may come about {comes}, and this yarn ends about {ends}.").format(
            what=what, comes=day_near(comes, today), ends=day_near(answer.runs_out_day, today)
        )
    if answer.order_by <= today:
        return n_(
            "Buy {what} now: it takes {days} day to come.",
            "Buy {what} now: it takes {days} days to come.",
            yarn.lead_days,
        ).format(what=what, days=number(yarn.lead_days))
    return _("Buy {what} by {day}.").format(what=what, day=day(answer.order_by, today))


def yarn_card(yarn: Yarn, answer: YarnAnswer, book: RugBook, rows: int, today: date) -> YarnCard:
    """Return how one yarn stands on the page."""
    ends = ends_words(answer, rows, today)
    ends = ends or lots_line(answer, planned_change(book, yarn.id), book.rows_woven)
    if not ends and answer.mixed_lots:
        ends = _("mixed dye lots: {lots}").format(lots=one_after_another(answer.mixed_lots))
    if not ends and answer.word is YarnWord.TIGHT and answer.order_g:
        ends = _("{to_buy}, for safety").format(to_buy=to_buy_words(answer.order_g))
    if answer.word is YarnWord.DONE and answer.not_entered_g:
        ends = _("more woven than there was")
    if answer.word is YarnWord.DONE and shown_g(answer.woven_unbought_g):
        ends = _("no purchase noted")
    share = 1.0 if answer.needed_g <= 0 else max(0.0, min(1.0, answer.on_hand_g / answer.needed_g))
    return YarnCard(
        yarn_id=yarn.id,
        number=yarn_code(yarn),
        name=yarn.name,
        swatch=yarn.swatch,
        word=yarn_words(answer),
        tone=TONES[answer.word],
        on_hand=mass(answer.on_hand_g),
        needed=mass(answer.needed_g),
        ends=ends,
        share=share,
        role=yarn.role,
    )


def _once_cards(book: RugBook, plan_lines: Mapping[str, BuyLine]) -> tuple[tuple[YarnCard, YarnWord], ...]:
    """Return the warp and the edges as bought against what the plan needs; used once, nothing of them is forecast."""
    cards = []
    for yarn in book.yarns:
        if yarn.role.row_by_row:
            continue
        line = plan_lines[yarn.id]
        standing = standing_of(book, line, None, yarn)
        bought = any(lot.yarn_id == yarn.id for lot in book.lots) or line.on_hand_g > 0
        mounted = is_in_rug(book, yarn)
        if not bought and not mounted and standing.buy.mass_g <= 0:
            continue
        missing_g = standing.missing_g
        if mounted:
            told = YarnWord.DONE
            word = used_once_words(book, yarn)
        elif not bought:
            told, word = YarnWord.NOT_BOUGHT, to_buy_words(standing.buy.mass_g)
        elif missing_g > 0:
            told, word = YarnWord.SHORT, _("short {mass}").format(mass=mass(missing_g))
        else:
            told = word_of_need(standing.on_hand_g, standing.whole_g, standing.whole_high_g)
            word = spare_words(told, -missing_g, standing.whole_g)
        whole_g = standing.whole_g
        card = YarnCard(
            yarn_id=yarn.id,
            number=yarn_code(yarn),
            name=yarn.name,
            swatch=yarn.swatch,
            word=word,
            tone=TONES[told],
            on_hand=mass(standing.on_hand_g),
            needed=mass(standing.needed_g),
            ends="",
            share=1.0 if mounted or not whole_g else max(0.0, min(1.0, 1.0 - missing_g / whole_g)),
            role=yarn.role,
        )
        cards.append((card, told))
    return tuple(cards)


def build_yarn_state(book: RugBook, answers: Answers) -> YarnState:
    """Turn the answers into the yarn page, worst first."""
    yarns = {yarn.id: yarn for yarn in book.yarns}
    cards = tuple(
        yarn_card(yarns[answer.yarn_id], answer, book, answers.where.rows, answers.day)
        for answer in answers.yarns
        if answer.yarn_id in yarns
    )
    once = _once_cards(book, plan_lines_of(book))
    cards += tuple(card for card, _told in once)
    words = [answer.word for answer in answers.yarns]
    told = words + [word for _card, word in once]
    short = sum(word is YarnWord.SHORT for word in told)
    to_buy = sum(word is YarnWord.NOT_BOUGHT for word in told)
    tight = sum(word is YarnWord.TIGHT for word in told)
    asked = words.count(YarnWord.ASKED)
    may_be_short = sum(may_run_short(answer) for answer in answers.yarns)
    likely = sum(probably_enough(answer) for answer in answers.yarns)
    hint = ""
    if not words:
        return YarnState(
            _("No yarn in the plan yet."),
            "ink",
            _("Add its colours and wefts to the plan first."),
            cards,
            True,
        )
    if nothing_bought(book):
        return YarnState(
            _("Nothing bought yet."),
            "ink",
            _(
                "These masses come from the plan. Share the shopping list, or tap a yarn and enter "
                "what you have."
            ),
            # Before anything is bought nothing is amiss yet, as on the first view.
            tuple(replace(card, tone="ink") if card.tone == YarnTone.LACKING else card for card in cards),
            True,
        )
    told_of = (
        (short, n_("{count} yarn will not last.", "{count} yarns will not last.", short)),
        (to_buy, n_("{count} yarn is still to buy.", "{count} yarns are still to buy.", to_buy)),
        (may_be_short, n_("{count} yarn may run short.", "{count} yarns may run short.", may_be_short)),
        (
            tight - may_be_short - likely,
            n_(
                "{count} yarn is only just enough.",
                "{count} yarns are only just enough.",
                tight - may_be_short - likely,
            ),
        ),
        (
            likely,
            n_(
                "{count} yarn is probably enough, not surely.",
                "{count} yarns are probably enough, not surely.",
                likely,
            ),
        ),
    )
    sentences = [words.format(count=number(count)) for count, words in told_of if count]
    if sentences:
        headline, tone = " ".join(sentences[:2]), "madder" if short or to_buy else "ink"
    elif asked:
        headline = n_(
            "{count} yarn is not sure to last: tap it to see what is asked.",
            "{count} yarns are not sure to last: tap one to see what is asked.",
            asked,
        ).format(count=number(asked))
        tone = "ink"
    elif all(word is YarnWord.DONE for word in words):
        headline, tone = _("The last row is woven: no more yarn is needed."), "soft"
    else:
        headline, tone = _("Every yarn lasts."), "green"
    wanted = [answer for answer in answers.yarns if answer.order_by is not None and answer.order_g > 0]
    if wanted:
        hint = _buy_words(wanted, answers.day)
    unbought = sum(
        answer.word is YarnWord.DONE and shown_g(answer.woven_unbought_g) > 0 for answer in answers.yarns
    )
    beyond = sum(answer.word is YarnWord.DONE and answer.not_entered_g > 0 for answer in answers.yarns)
    missing = (
        n_(
            "Of {count} yarn more is woven than there was: tap it to see what is asked.",
            "Of {count} yarns more is woven than there was: tap one to see what is asked.",
            beyond,
        ).format(count=number(beyond))
        if beyond
        else ""
    )
    unnoted = (
        n_(
            "Of {count} yarn no purchase is noted: tap it and enter what there was.",
            "Of {count} yarns no purchase is noted: tap one and enter what there was.",
            unbought,
        ).format(count=number(unbought))
        if unbought
        else ""
    )
    hint = " ".join(part for part in (hint, missing, unnoted, _weighed_words(yarns, answers)) if part)
    return YarnState(headline, tone, hint, cards, False)


def _buy_words(wanted: Sequence[YarnAnswer], today: date) -> str:
    """Say by when the first of the yarns to order is to be bought, and that it is for safety where all of them probably last."""
    first = min(answer.order_by for answer in wanted if answer.order_by is not None)
    if all(probably_enough(answer) for answer in wanted):
        words = (
            _("To be safe, buy a little now.") if first <= today else _("To be safe, buy a little by {day}.")
        )
    else:
        words = _("Buy now.") if first <= today else _("Buy by {day}.")
    return words.format(day=day(first, today))


def _weighed_words(yarns: Mapping[str, Yarn], answers: Answers) -> str:
    """Say which colour weighed of late changed what is believed of the others too; "" where none did.

    Of one that is asked about nobody knows yet what it tells of the others.
    """
    piles = [one for one in answers.yarns if one.yarn_id in yarns and yarns[one.yarn_id].role is Role.PILE]
    weighed = [(one.told, yarns[one.yarn_id].name, one) for one in piles if one.told is not None]
    if len(piles) < 2 or not weighed:
        return ""
    told, name, answer = max(weighed, key=lambda one: one[0].day)
    more_g = told.mass_g - told.expected_g
    if told.as_expected or (answers.day - told.day).days > MOVED_SINCE_DAYS:
        return ""
    if weighing_question(answer):
        return _("{name} weighed far from what was expected. Say on its page what it was.").format(name=name)
    if more_g < 0:
        return _("By its weighing {name} takes more than expected, and so will the other colours.").format(
            name=name
        )
    return _("By its weighing {name} takes less than expected, and so will the other colours.").format(
        name=name
    )


# --- one yarn ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class StoryLine:
    """One thing that happened to a yarn."""

    record_id: str
    icon: str
    day: str
    head: str
    more: str
    session: bool


@dataclass(frozen=True, slots=True)
class StoryAct:
    """Something that can be done with a yarn."""

    kind: FormKind | None
    """The form it opens; None: how much goes on one ball or shuttle is asked."""
    label: str
    icon: str
    choice: WeighedChoice | None = None
    """What it enters at once, instead of opening a form."""


@dataclass(frozen=True, slots=True)
class YarnStoryState:
    """The story of one yarn."""

    yarn_id: str
    name: str
    number: str
    swatch: str
    word: str
    tone: str
    share: float
    basis: str
    doubt: str
    """What cannot be in its record, as a question; "" for nothing."""
    answers_doubt: tuple[StoryAct, ...]
    """What answers that question."""
    facts: tuple[Fact, ...]
    order: str
    mixed: str
    lots: LotsState | None
    """Its dye lots; None where there is nothing to say of them."""
    acts: tuple[StoryAct, ...]
    lines: tuple[StoryLine, ...]
    empty: str


def mixed_words(lots: tuple[str, ...]) -> str:
    """Warn of dye lots that may differ; "" when there is one."""
    if len(lots) < 2:
        return ""
    return _(
        "Dye lots {lots} may differ in shade. Lay them side by side in daylight. Take them by turns, "
        "or change over where it will not show."
    ).format(lots=one_after_another(lots))


def _lasts_words(answer: YarnAnswer) -> str:
    """Say how likely a yarn lasts; it very likely does only where it is called enough, so that nothing is to be ordered."""
    enough = answer.word is YarnWord.ENOUGH
    return chance_words(answer.chance if enough else min(answer.chance, VERY_LIKELY_ABOVE))


def _facts(
    answer: YarnAnswer, standing: Standing, rows: int, today: date, came: CameBy, lost_g: float
) -> tuple[Fact, ...]:
    on_hand = Fact(
        _("On hand"), mass(standing.on_hand_g), mass_range(answer.on_hand_low_g, answer.on_hand_high_g)
    )
    facts = [on_hand, _still_needed(standing), *_to_buy(standing)]
    if answer.told is not None:
        facts.append(Fact(_("Last weighed"), day_short(answer.told.day, today), told_words(answer)))
    if answer.word in (YarnWord.DONE, YarnWord.NOT_BOUGHT):
        return (*facts, *_as_it_goes(answer, standing, came, lost_g), *_in_all(standing, came, lost_g))
    lasts = _("not sure") if answer.word is YarnWord.ASKED else _lasts_words(answer)
    facts.append(Fact(_("It lasts to the last row"), lasts))
    if ends_before(answer, rows) and answer.runs_out_row is not None:
        more = ""
        if answer.runs_out_row_range and answer.runs_out_row_range[0] != answer.runs_out_row_range[1]:
            more = _("row {low} to {high}").format(
                low=number(answer.runs_out_row_range[0]), high=number(answer.runs_out_row_range[1])
            )
        facts.append(Fact(_("Ends at row"), number(answer.runs_out_row), more))
        if answer.runs_out_day is not None:
            more = ""
            if answer.runs_out_day_range and answer.runs_out_day_range[0] != answer.runs_out_day_range[1]:
                more = days_from_to(*answer.runs_out_day_range, today)
            facts.append(Fact(_("That is about"), day_short(answer.runs_out_day, today), more))
    first = may_end_from(answer, rows)
    if first is not None:
        facts.append(Fact(_("It may end from row"), number(first)))
    return (*facts, *_as_it_goes(answer, standing, came, lost_g), *_in_all(standing, came, lost_g))


def _still_needed(standing: Standing) -> Fact:
    between = mass_range(standing.needed_low_g, standing.needed_high_g)
    return Fact(_("Still needed"), mass(standing.needed_g), between)


def _to_buy(standing: Standing) -> tuple[Fact, ...]:
    """Return what to buy and how it comes about; nothing where nothing is to buy."""
    buy = standing.buy
    return (Fact(_("To buy"), mass(buy.mass_g), sum_words(standing)),) if buy.mass_g else ()


CALCULATED_WITHIN = 0.1
"""Share of what is calculated to be in the rows by which more may be gone: what is gone beyond it is told apart (our choice)."""


def _gone_g(answer: YarnAnswer, standing: Standing, came: CameBy, lost_g: float) -> tuple[float, float]:
    """Return the grams in the rows so far, and those that are neither there nor on hand nor lost, as each of them is told.

    With what is on hand and lost they make what came. Of what nobody noted as bought it is what the knots took.
    """
    woven_g = shown_g(answer.woven_g)
    if not (came.bought_g or came.moved_here_g):
        return woven_g, 0.0
    came_g = shown_g(came.bought_g) + shown_g(came.moved_here_g) - shown_g(came.moved_on_g)
    gone_g = shown_g(came_g - shown_g(lost_g) - shown_g(standing.on_hand_g))
    untold_g = gone_g - woven_g
    if shown_g(untold_g) <= max(1.0, CALCULATED_WITHIN * woven_g):
        return gone_g, 0.0
    return woven_g, untold_g


def _as_it_goes(answer: YarnAnswer, standing: Standing, came: CameBy, lost_g: float) -> tuple[Fact, ...]:
    """Return what the whole rug comes to by the knots so far, where that is not what the plan says."""
    (woven_g, untold_g), needed_g = _gone_g(answer, standing, came, lost_g), shown_g(standing.needed_g)
    if answer.woven_g <= 0:
        return ()
    whole = mass(woven_g + needed_g)
    if woven_g <= 0 or needed_g <= 0 or whole == mass(standing.whole_g):
        return ()
    more = _("{woven} in the rows so far, {needed} still needed").format(
        woven=mass(woven_g), needed=mass(needed_g)
    )
    as_it_goes = Fact(_("For the whole rug, as it goes"), whole, more)
    return (as_it_goes, Fact(_("Not accounted for"), mass(untold_g))) if untold_g else (as_it_goes,)


def _in_all(standing: Standing, came: CameBy, lost_g: float) -> tuple[Fact, ...]:
    """Return what the whole rug needs by the plan, and apart what was bought for it, moved here and away, and lost."""
    between = mass_range(standing.whole_low_g, standing.whole_high_g)
    facts = [Fact(_("For the whole rug, by the plan"), mass(standing.whole_g), between)]
    moved = came.moved_here_g or came.moved_on_g
    if came.bought_g or not moved:
        facts.append(Fact(_("Bought in all"), mass(came.bought_g)))
    if came.moved_here_g:
        facts.append(
            Fact(_("Moved here in all"), mass(came.moved_here_g), _("from other rugs and the shelf"))
        )
    if came.moved_on_g:
        facts.append(Fact(_("Moved on in all"), mass(came.moved_on_g), _("to other rugs and the shelf")))
    if lost_g:
        facts.append(Fact(_("Lost in all"), small_mass(lost_g)))
    return tuple(facts)


def _facts_of_once(
    yarn: Yarn, standing: Standing, came: CameBy, lost_g: float, in_rug: bool
) -> tuple[Fact, ...]:
    """Return the facts of a warp or an edge."""
    left = ""
    if in_rug:
        left = _("left over from the warp") if yarn.role is Role.WARP else _("left over")
    on_hand = Fact(_("On hand"), mass(standing.on_hand_g), left)
    return (on_hand, _still_needed(standing), *_to_buy(standing), *_in_all(standing, came, lost_g))


def _acts(yarn: Yarn) -> tuple[StoryAct, ...]:
    acts = [
        StoryAct(FormKind.LOT, _("Bought"), "buy"),
        StoryAct(FormKind.WEIGHING, _("Weigh"), "weigh"),
        StoryAct(FormKind.SPOILT, _("Lost"), "spoilt"),
    ]
    if yarn.role is Role.WEFT:
        acts.insert(2, StoryAct(FormKind.BALL, _("Shuttle empty"), "shuttle"))
    elif yarn.role is Role.PILE:
        acts.insert(2, StoryAct(FormKind.BALL, _("Ball used up"), "ball"))
        acts.append(StoryAct(FormKind.SAMPLE, _("Sample"), "knot"))
    return tuple(acts)


def _lot_to_ask_for(book: RugBook, answer: YarnAnswer, lots: tuple[str, ...]) -> tuple[str, ...]:
    """Return the dye lot to ask for: the one a planned change leads to, else the open one, else the last one bought."""
    planned = planned_change(book, answer.yarn_id)
    coming = next((lot for lot in book.lots if planned is not None and lot.id == planned.lot_id), None)
    if coming is not None and coming.dye_lot.strip():
        return (coming.dye_lot.strip(),)
    if answer.lots is not None and answer.lots.opened.mark:
        return (answer.lots.opened.mark,)
    return lots[-1:]


YarnEvent = Lot | LotChange | Weighing | Spoilt | Sample | Preparation | HandOut | Session
"""What the story of a yarn is made of."""
_Of = TypeVar("_Of", Lot, LotChange, Weighing, Spoilt, Sample, Preparation, HandOut)


def _story_lines(book: RugBook, yarn: Yarn, today: date) -> tuple[StoryLine, ...]:
    """Return all that happened to a yarn, newest first."""
    dated_lines: list[tuple[date, int, StoryLine]] = []

    def add(value: YarnEvent, icon: str, head: str, *more: str, session: bool = False) -> None:
        line = StoryLine(
            value.move_id if isinstance(value, MovedLot) else value.id,
            icon,
            day_short(value.day, today),
            head,
            " · ".join(part for part in more if part),
            session,
        )
        dated_lines.append((value.day, value.born, line))

    def of_this(values: Iterable[_Of]) -> Iterator[_Of]:
        return (value for value in values if value.yarn_id == yarn.id)

    for lot in of_this(book.lots):
        if isinstance(lot, MovedLot):
            mark = _("dye lot {lot}").format(lot=lot.dye_lot) if lot.dye_lot else ""
            add(lot, "skein", moved_words(lot), mark)
            continue
        price = "" if lot.price is None else _("price {price}").format(price=money(lot.price))
        mark = _("dye lot {lot}").format(lot=lot.dye_lot) if lot.dye_lot else ""
        add(lot, "buy", _("{mass} bought").format(mass=mass(lot.mass_g)), mark, lot.dyer, price)
    by_id = {lot.id: lot for lot in book.lots}
    for change in of_this(book.lot_changes):
        words = change_words(change, by_id)
        add(replace(change, day=change.done_day or change.day), "skein", words[:1].upper() + words[1:])
    for weighing in of_this(book.weighings):
        add(
            weighing,
            "weigh",
            _("{mass} left on the scale").format(mass=mass_as_weighed(weighing.mass_g)),
            weighing.note,
        )
    for spoilt in of_this(book.spoilt):
        add(spoilt, "spoilt", _("{mass} lost").format(mass=small_mass(spoilt.mass_g)), spoilt.note)
    for sample in of_this(book.samples):
        a_thousand = _("{mass} for 1,000 knots").format(mass=mass(1000.0 * sample.mass_g / sample.knots))
        by_scale = answers_a_weighing(sample, book.weighings)
        words = (
            _("By the scale {knots} knots took {number} g")
            if by_scale
            else _("Sample of {knots} knots: {number} g")
        )
        add(
            sample, "knot", words.format(knots=number(sample.knots), number=number(sample.mass_g, 2)), a_thousand
        )  # fmt: skip
    for done in of_this(book.preparations):
        add(
            done,
            "shuttle" if yarn.role is Role.WEFT else "wind",
            prepared_words(done.kind, done.count, yarn.name),
        )
    names = names_of((book,))
    for handed in of_this(book.hand_outs):
        words = handed_words(handed, names)
        add(handed, "person", words, mass(handed.mass_g), handed.note)
    for session in book.sessions:
        count = dict(session.used).get(yarn.id, 0.0)
        if count:
            head = used_words(yarn.role, yarn.name, count)
            add(
                session,
                "shuttle" if yarn.role is Role.WEFT else "ball",
                _("{what} used up").format(what=head),
                session=True,
            )
    dated_lines.sort(key=lambda one: (one[0], one[1]), reverse=True)
    return tuple(line for _day, _born, line in dated_lines)


def build_yarn_story_state(
    book: RugBook, answers: Answers, yarn_id: str, counted: int = 0
) -> YarnStoryState | None:
    """Return the story of one yarn; None when it is not in the plan any more.

    `counted` are rows counted at the loom or entered, and not saved yet.
    """
    yarn = next((other for other in book.yarns if other.id == yarn_id), None)
    if yarn is None:
        return None
    today = answers.day
    answer = next((other for other in answers.yarns if other.yarn_id == yarn_id), None)
    lots = dye_lots_on_hand(book, yarn_id)
    lines = _story_lines(book, yarn, today)
    lines_of = plan_lines_of(book)
    standing = standing_of(book, lines_of[yarn_id], answer, yarn)
    came = came_by(lot for lot in book.lots if lot.yarn_id == yarn_id)
    lost_g = sum(loss.mass_g for loss in book.spoilt if loss.yarn_id == yarn_id)
    tone: str
    if answer is not None:
        word, tone = yarn_words(answer), TONES[answer.word]
        share = 1.0 if answer.needed_g <= 0 else max(0.0, min(1.0, answer.on_hand_g / answer.needed_g))
        facts = _facts(answer, standing, answers.where.rows, today, came, lost_g)
        order = order_words(yarn, answer, today, _lot_to_ask_for(book, answer, lots))
        if order and may_just_last(answer) and answer.lots is not None and not lots:
            # No dye lot was noted, so none can be named.
            order += " " + _("Ask for the same dye bath.")
        lots = answer.mixed_lots or lots
    else:
        card = next((other for other, _told in _once_cards(book, lines_of) if other.yarn_id == yarn_id), None)
        word = card.word if card else to_buy_words(standing.buy.mass_g)
        tone, share, order = (card.tone if card else "madder"), (card.share if card else 0.0), ""
        facts = _facts_of_once(yarn, standing, came, lost_g, in_rug=is_in_rug(book, yarn))
    basis = doubt = ""
    answers_doubt: tuple[StoryAct, ...] = ()
    if answer is not None:
        known = any(line.icon in ("weigh", "ball", "shuttle", "knot") for line in lines)
        basis = _("From the plan until a ball is used up or something is weighed.")
        doubt = record_doubt_words(yarn, answer)
        if doubt:
            basis = ""
            answers_doubt = (
                StoryAct(FormKind.LOT, _("Enter the purchase"), "buy")
                if answer.not_entered_g or answer.woven_unbought_g
                else StoryAct(None, _("Correct how much goes on one"), "edit"),
                StoryAct(FormKind.WEIGHING, _("Weigh what is left"), "weigh"),
            )
        elif known:
            basis = _("Learnt from what you used and weighed.")
        elif _others_tell(book, yarn):
            basis = _("From the plan, and from your use of the other yarns.")
        if not doubt and (doubt := weighing_question(answer)):
            answers_doubt = tuple(
                StoryAct(choice.form, choice.label, choice.icon, None if choice.form else choice)
                for choice in weighing_choices(book, yarn, answer)
            )
    return YarnStoryState(
        yarn_id=yarn.id,
        name=yarn.name,
        number=yarn_code(yarn),
        swatch=yarn.swatch,
        word=word,
        tone=tone,
        share=share,
        basis=basis,
        doubt=doubt,
        answers_doubt=answers_doubt,
        facts=facts,
        order=order,
        mixed=mixed_words(lots),
        lots=build_lots_state(book, answer, answers.where.rows, today, counted),
        acts=_acts(yarn),
        lines=lines,
        empty="" if lines else _("Nothing entered for this yarn yet. Begin with what you bought of it."),
    )


def _others_tell(book: RugBook, yarn: Yarn) -> bool:
    """Tell whether another yarn of its kind was weighed, sampled or used up: what it says of the hand counts here too."""
    others = {other.id for other in book.yarns if other.role is yarn.role and other.id != yarn.id}
    told = {weighing.yarn_id for weighing in book.weighings} | {sample.yarn_id for sample in book.samples}
    used = {name for session in book.sessions for name, count in session.used if count > 0}
    return bool(others & (told | used))


def told_words(answer: YarnAnswer) -> str:
    """Say what was weighed last, and what that tells beside what was reckoned; "" without a weighing."""
    told = answer.told
    if told is None:
        return ""
    return _("{mass} on the scale, {beside}").format(
        mass=mass_as_weighed(told.mass_g), beside=_beside_expected(told)
    )


def _beside_expected(told: Told) -> str:
    """Say how what was weighed lies beside what was expected; what a gap tells is asked on the yarn's page."""
    more_g = told.mass_g - told.expected_g
    if told.as_expected:
        return _("as expected ({before})").format(
            before=", ".join(
                filter(None, (mass(told.expected_g), mass_range_in_full(told.low_g, told.high_g)))
            )
        )
    if more_g < 0:
        return _("{gap} less than expected").format(gap=mass(-more_g))
    return _("{gap} more than expected").format(gap=mass(more_g))


def yarn_changed(before: Answers | None, after: Answers, yarn_id: str) -> str:
    """Say in one line how a yarn stands after an act that names it; "" when it is not in the plan."""
    now = next((one for one in after.yarns if one.yarn_id == yarn_id), None)
    if now is None:
        return ""
    then = next((one for one in before.yarns if one.yarn_id == yarn_id), None) if before else None
    told = None if then is None or then.told is None else (then.told.day, then.told.mass_g)
    if now.told is not None and (now.told.day, now.told.mass_g) != told:
        # Just weighed: what the scale tells comes first.
        beside = _beside_expected(now.told)
        return f"{beside[:1].upper()}{beside[1:]}."
    return _("Now: {how}.").format(how=yarn_words(now))
