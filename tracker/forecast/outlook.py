"""The three answers for one rug on one day: where it stands, whether the yarn lasts, when it is done."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from tracker.domain.as_of import book_as_of
from tracker.domain.costs import promised_day_of
from tracker.domain.defaults import ENOUGH_FROM, ORDER_CHANCE, TEN_PERCENT_POINT
from tracker.domain.dye_lots import marks_of
from tracker.domain.finished_size import length_to_weave_cm
from tracker.domain.need import account_of
from tracker.domain.rug import Hold, RugBook
from tracker.domain.shopping import most_missing_g, purchase
from tracker.domain.taught import Taught
from tracker.forecast.answers import (
    Answers,
    Basis,
    FinishAnswer,
    LengthWarning,
    MovedToday,
    RugAhead,
    Where,
    YarnAnswer,
    YarnsAlone,
    YarnWord,
)
from tracker.forecast.calendar import off_ordinals
from tracker.forecast.chart import landmarks_of
from tracker.forecast.cloth import density_to_mend, final_length
from tracker.forecast.dye_lots import lots_answer
from tracker.forecast.finish import Futures
from tracker.forecast.held import how_it_held
from tracker.forecast.ledger import Ledger, Scale, ledgers_of, scale_evidence, units_ahead
from tracker.forecast.reasons import begun_early, last_rug_words, moved_by, moved_today, rests_on, row_ahead
from tracker.forecast.reckon import Reckoning, Stand, reckon, where_it_stands
from tracker.forecast.shape import read_shape
from tracker.forecast.stats import middle_of, normal_below, quantiles
from tracker.forecast.thresholds import (
    BEAT_CAN_CHANGE,
    LENGTH_SURE,
    LENGTH_TOLERANCE,
    MOVED_SINCE_DAYS,
    RANGE_HIGH,
    RANGE_LOW,
    SHORT_BELOW,
)
from tracker.forecast.use import DRAWS, Use, learn_use
from tracker.forecast.yarn import (
    balls_doubted,
    lost_again,
    run_out_rows,
    stock,
    tied_beyond_record_g,
    weighing_told,
)
from tracker.words import _, number

RECKONINGS_KEPT = 4
"""Reckonings of an earlier evening that are kept: a week ago and yesterday, of the rug in hand and of one beside it."""
WORST_FIRST = {
    YarnWord.SHORT: 0,
    YarnWord.NOT_BOUGHT: 1,
    YarnWord.TIGHT: 2,
    YarnWord.ASKED: 3,
    YarnWord.ENOUGH: 4,
    YarnWord.DONE: 5,
}


def outlook(
    book: RugBook,
    today: date,
    *,
    earlier: Sequence[RugBook] = (),
    ahead: RugAhead | None = None,
    seed: int = 20260101,
) -> Answers:
    """Give the three answers for one rug.

    Parameters
    ----------
    book : everything the book holds about the rug
    today : the weaver's local day; answers look ahead from it
    earlier : books of this weaver's earlier rugs, oldest first, from which pace and habits are borrowed
    ahead : the rug that this one waits for on its warp (`in_turn.rug_ahead`): its lateness is in every range
    seed : start of the random draws; the same book on the same day gives the same answer

    Returns
    -------
    Answers
    """
    marks = _marks_of(book)
    free = None if ahead is None else ahead.finish
    now = reckon(
        book,
        today,
        earlier,
        seed,
        extra_marks=[row for _name, row in marks],
        free_likely=None if free is None else free.loom_free,
        free_from=None if free is None else free.loom_surely_free,
    )
    sessions = now.sessions
    tied = now.to_weave.tied
    where = Where(
        rows_woven=book.rows_woven,
        knots_begun=now.knots_begun,
        rows=now.to_weave.rows,
        knots_woven=round((now.row_now + now.begun) * tied),
        knots=round(now.to_weave.rows * tied),
        rows_last_session=book.woven_sessions[-1].rows if sessions.size else None,
        hours_woven=float(sum(s.hours or 0.0 for s in book.sessions)),
    )
    finish = None if now.futures is None else _finish(now, now.futures, marks)
    length, length_range, warning = _length(now)
    moved: tuple[str, ...] = ()
    # In its first week a rug has no date of its own to compare with, but one begun early has the plan's.
    week_old = sessions.size and sessions.day[0] <= today.toordinal() - MOVED_SINCE_DAYS
    if now.futures is not None and (week_old or begun_early(now)):
        before = today - timedelta(days=MOVED_SINCE_DAYS)
        moved = moved_by(now, _reckoned_then(book_as_of(book, before), before, earlier, seed, now.taught))
    last_rug = how_it_held(earlier[-1], seed) if earlier and now.futures is not None else None
    told = rests_on(now)
    return Answers(
        day=today,
        where=where,
        yarns=yarn_answers(now, seed),
        finish=finish,
        basis=Basis(
            sessions=book.sessions_told,
            from_plan=not sessions.size,
            rests_on=told if last_rug is None else (*told, last_rug_words(last_rug)),
            moved_by=moved,
            moved_today=None if ahead is not None else _moved_today(now, earlier, seed),
            row_ahead=row_ahead(now),
            last_rug=last_rug,
            by_earlier=now.by_earlier,
        ),
        finished=now.finished,
        silent_days=now.silent_days if not now.finished and now.futures is None else None,
        final_length_cm=length,
        final_length_range_cm=length_range,
        length_warning=warning,
        shape=read_shape(book.plan, book.measurements, now.row_now, now.to_weave.rows),
        taught=now.taught,
        ahead=ahead,
    )


def _moved_today(now: Reckoning, earlier: Sequence[RugBook], seed: int) -> MovedToday | None:
    """Say what the session entered last did, where it is today's; of a rug that waits for no other, with which it moves, too."""
    book, day = now.book, now.today
    last = max(book.woven_sessions, key=lambda session: session.born, default=None)
    if last is None or last.day != day or now.futures is None:
        return None
    without = replace(book, sessions=tuple(one for one in book.sessions if one.id != last.id))
    then = _reckoned_then(without, day - timedelta(days=1), earlier, seed, now.taught)
    return moved_today(now, then, last.id)


_reckoned: list[tuple[tuple[object, ...], Reckoning]] = []
"""The last reckonings of earlier evenings, newest first, each behind what it was made of."""


def _reckoned_then(
    book: RugBook, day: date, earlier: Sequence[RugBook], seed: int, taught: Taught
) -> Reckoning:
    """Reckon as of an earlier evening, or find it again: what is entered today changes nothing of it."""
    made_of = (day, seed, taught, book, tuple(earlier))
    for known, then in _reckoned:
        if known == made_of:
            return then
    then = reckon(book, day, earlier, seed, taught=taught, end_alone=True)
    _reckoned[:] = [(made_of, then), *_reckoned[: RECKONINGS_KEPT - 1]]
    return then


def finish_foretold(
    book: RugBook, today: date, *, earlier: Sequence[RugBook] = (), seed: int = 20260101
) -> FinishAnswer | None:
    """Return what `outlook` says of the last row, without working out the rest: less than half of its time."""
    marks = _marks_of(book)
    now = reckon(book, today, earlier, seed, extra_marks=[row for _name, row in marks])
    return None if now.futures is None else _finish(now, now.futures, marks)


def yarns_alone(book: RugBook, today: date, *, seed: int = 20260101) -> YarnsAlone:
    """Return what `outlook` says of the yarns, but for the days on which they run out: a third of its time."""
    return YarnsAlone(yarn_answers(where_it_stands(book, today), seed))


# ----------------------------------------------------------------------------------------------- finish


def _marks_of(book: RugBook) -> list[tuple[str, int]]:
    """Names and rows of the places on the way."""
    rows = max(book.plan.rows, 1)
    marks = [(_("middle"), (rows + 1) // 2)]
    if book.cartoon is not None:
        landmarks = landmarks_of(book.cartoon, book.yarns)
        scale = rows / max(book.cartoon.rows, 1)
        parts = [
            (_("end of the border"), landmarks.border_end),
            (_("start of the last border"), landmarks.border_start),
        ]
        if landmarks.medallion is not None:
            first, last = landmarks.medallion
            parts += [(_("start of the medallion"), first), (_("end of the medallion"), last)]
        else:
            count = len(landmarks.figures)
            parts += [
                (
                    _("end of figure {number} of {count}").format(number=number(place), count=number(count)),
                    last,
                )
                for place, (_first, last) in enumerate(landmarks.figures, start=1)
            ]
        for name, row in parts:
            if row is not None:
                marks.append((name, max(round(row * scale), 1)))
    return sorted(marks, key=lambda mark: mark[1])


def _finish(now: Reckoning, futures: Futures, marks: list[tuple[str, int]]) -> FinishAnswer:
    plan = now.book.plan
    spread = np.quantile(futures.days, [RANGE_LOW, 0.5, RANGE_HIGH], axis=0)
    nearest = now.to_tell.nearest
    dates = [(nearest(float(q[0])), nearest(float(q[1])), nearest(float(q[2]))) for q in spread.T]
    place = {int(row): m for m, row in enumerate(futures.rows)}
    early, middle, late = dates[-1]
    steps = [step.days for step in now.book.after_steps if step.done_day is None]
    chance = rows_a_day = None
    if plan.wished_day is not None:
        chance = float((futures.days[:, -1] < plan.wished_day.toordinal() + 0.5).mean())
        rows_a_day = _rows_a_day(now, plan.wished_day)
    days_after = math.ceil(sum(steps))
    promised = promised_day_of(now.book)
    promise = None
    if promised is not None:
        promise = float((futures.days[:, -1] + days_after < promised.toordinal() + 0.5).mean())
    return FinishAnswer(
        middle=middle,
        early=early,
        late=late,
        ready=middle + timedelta(days=days_after),
        chance_of_wish=chance,
        rows_a_day_for_wish=rows_a_day,
        chance_of_promise=promise,
        hours_left=futures.hours_left,
        marks=tuple((name, row, *dates[place[row]]) for name, row in marks if row in place),
        bands=tuple((int(row), *dates[m]) for m, row in enumerate(futures.rows)),
        weekdays=now.to_tell.weekdays,
    )


def _rows_a_day(now: Reckoning, wished: date) -> float | None:
    """Rows a weaving day to be done on the wished day; None when no planned day is left before it."""
    first = now.first_open
    if wished < first:
        return None
    off = off_ordinals(now.book.days_off, first.toordinal(), wished.toordinal())
    weekday = (np.arange(first.toordinal(), wished.toordinal() + 1) - 1) % 7
    days = int((now.habit.planned[weekday] & ~off).sum())
    return (now.to_weave.rows - now.row_now - now.begun) / days if days else None


# ------------------------------------------------------------------------------------------------- yarn


def yarn_answers(now: Stand, seed: int) -> tuple[YarnAnswer, ...]:
    """Answer for every pile colour and every weft, the worst first; of those that stand alike the one that ends first.

    Days on which they run out are told where the pace is reckoned.
    """
    book, to_weave = now.book, now.to_weave
    account = account_of(book, to_weave)
    rng = np.random.default_rng([seed, 21])
    keys: list[tuple[date, int]] = [(s.day, s.born) for s in book.sessions]
    team = (
        middle_of(now.sessions.team[-20:]) if now.sessions.size else float(max(book.plan.weavers_planned, 1))
    )
    answers: list[YarnAnswer] = []
    for needs in (account.pile, account.wefts):
        if not needs:
            continue
        pile = needs is account.pile
        ahead = [
            units_ahead(need, to_weave.knots[:, k] if pile else None, to_weave.rows)
            for k, need in enumerate(needs)
        ]
        ledgers = ledgers_of(book, needs, ahead, team)
        notes_balls = any(float(ledger.ended.sum()) > 0 for ledger in ledgers)
        by_eye = pile and not to_weave.counted and len(needs) > 1
        scales = [scale_evidence(ledger, keys, by_eye=by_eye) for ledger in ledgers]
        uses = learn_use(ledgers, scales, notes_balls, rng, by_eye)
        for place, (ledger, scale, use) in enumerate(zip(ledgers, scales, uses, strict=True)):
            # Each yarn has draws of its own: what is bought of one must not move what is said of the next.
            own = np.random.default_rng([seed, 22, int(pile), place])
            answers.append(_yarn_answer(now, ledger, scale, use, own))
    return tuple(sorted(answers, key=lambda a: (WORST_FIRST[a.word], a.runs_out_row or math.inf, a.chance)))


def _yarn_answer(
    now: Stand, ledger: Ledger, scale: Scale | None, use: Use, rng: np.random.Generator
) -> YarnAnswer:
    yarn, book = ledger.yarn, now.book
    reached = now.row_now + now.begun
    drawn = stock(ledger, scale, use, reached, lost_again(ledger, use, book.rows_gained), rng)
    owned = bool(ledger.lots) or bool(ledger.weighings)
    if not owned:
        drawn = replace(drawn, on_hand=np.zeros(DRAWS), reserve=np.zeros(DRAWS))
    last_row = ledger.ahead.size - 1
    left = float(ledger.ahead[-1]) - ledger.units_to(reached)
    over = drawn.reserve - drawn.needed
    chance = float((over >= 0).mean())
    hand_low, hand, hand_high = quantiles(drawn.on_hand, RANGE_LOW, 0.5, RANGE_HIGH)
    need_low, need, need_high = quantiles(drawn.needed, RANGE_LOW, 0.5, RANGE_HIGH)
    if left <= 0 or now.finished:
        word, chance = YarnWord.DONE, 1.0
    elif not owned:
        word, chance = YarnWord.NOT_BOUGHT, 0.0
    elif chance >= ENOUGH_FROM or hand_low >= need_high:
        # What is there covers all of the range that is said.
        word = YarnWord.ENOUGH
    elif chance < SHORT_BELOW:
        word = YarnWord.SHORT
    else:
        word = YarnWord.TIGHT
    if word is YarnWord.DONE:
        need_low = need = need_high = 0.0
    row = rows_between = day = days_between = order_by = None
    want, want_chance, order_g, skeins = 0.0, 0.0, 0.0, 0
    if word in (YarnWord.SHORT, YarnWord.NOT_BOUGHT, YarnWord.TIGHT):
        # The weaver's own margin, and never less than what makes the yarn last, as far as the range that is said reaches.
        lasting = min(
            quantiles(-over, ORDER_CHANCE)[0], most_missing_g(yarn.margin, need, need_high, hand_low)
        )
        want = max(lasting, need * (1.0 + yarn.margin) - hand)
        want_chance = float((over + max(float(want), 0.0) >= 0).mean())
        skeins, order_g = purchase(want, yarn.skein_g, yarn.least_purchase_g)
        rows = np.minimum(run_out_rows(ledger, drawn, reached), last_row)
        low, mid, high = quantiles(rows, RANGE_LOW, 0.5, RANGE_HIGH)
        row, rows_between = round(mid), (round(low), round(high))
        if isinstance(now, Reckoning) and now.futures is not None:
            out = _days_of_rows(now.futures, rows, now.row_now, now.first_open, rng)
            low, mid, high = quantiles(out, RANGE_LOW, 0.5, RANGE_HIGH)
            nearest = now.to_tell.nearest
            day, days_between = nearest(float(mid)), (nearest(float(low)), nearest(float(high)))
            if order_g > 0:
                order_by = days_between[0] - timedelta(days=yarn.lead_days)
    dye_lots = marks_of(ledger.lots)
    not_entered_g, doubted, woven_unbought_g = 0.0, None, 0.0
    woven_g = ledger.planned_g * use.middle_ratio * ledger.units_to(reached)
    if not owned:
        # Asked after the last row, too: what was there is then as little known.
        woven_unbought_g = woven_g
    else:
        woven_g = max(0.0, min(woven_g, ledger.bought_g - ledger.spoilt_g - hand))
    if owned:
        # Asked after the last row, too: what the rug took is told by it.
        not_entered_g = tied_beyond_record_g(ledger, scale, use)
    if word is not YarnWord.DONE:
        doubted = balls_doubted(ledger, scale, use)
    if word in (YarnWord.ENOUGH, YarnWord.TIGHT) and hand >= need and (not_entered_g or doubted):
        # What rests on a record that is asked about is not called enough.
        word = YarnWord.ASKED
    return YarnAnswer(
        yarn_id=yarn.id,
        word=word,
        chance=chance,
        bought_g=ledger.bought_g,
        on_hand_g=float(hand),
        on_hand_low_g=float(hand_low),
        on_hand_high_g=float(hand_high),
        needed_g=float(need),
        needed_low_g=float(need_low),
        needed_high_g=float(need_high),
        short_g=max(0.0, float(need) - float(hand)),
        runs_out_row=row,
        runs_out_row_range=rows_between,
        runs_out_day=day,
        runs_out_day_range=days_between,
        order_g=order_g,
        want_g=max(0.0, float(want)),
        want_chance=want_chance,
        order_skeins=skeins,
        order_by=order_by,
        mixed_lots=dye_lots if len(dye_lots) > 1 else (),
        told=weighing_told(ledger, scale, use),
        not_entered_g=not_entered_g,
        use_ratio=use.middle_ratio,
        woven_g=woven_g,
        woven_unbought_g=woven_unbought_g,
        balls_doubted=doubted,
        lots=lots_answer(book, ledger, scale, drawn, use, reached, knotting=word is not YarnWord.DONE),
    )


def _days_of_rows(
    futures: Futures, rows: np.ndarray, row_now: int, first: date, rng: np.random.Generator
) -> np.ndarray:
    """Day (ordinal) on which each drawn row is woven, each draw in one of the futures, (draws,)."""
    knots = np.concatenate([[row_now], futures.rows]).astype(float)
    days = np.concatenate(
        [np.full((futures.days.shape[0], 1), float(first.toordinal())), futures.days], axis=1
    )
    who = rng.permutation(rows.size) % futures.days.shape[0]
    at = np.clip(np.searchsorted(knots, rows, side="left"), 1, knots.size - 1)
    part = (rows - knots[at - 1]) / np.maximum(knots[at] - knots[at - 1], 1e-9)
    return (1.0 - part) * days[who, at - 1] + part * days[who, at]


# ------------------------------------------------------------------------------------------------ cloth


def _length(now: Reckoning) -> tuple[float | None, tuple[float, float] | None, LengthWarning | None]:
    """Final length, its 80 % range, and a warning while the beat can still mend it."""
    cloth, plan = now.cloth, now.book.plan
    wanted_cm = length_to_weave_cm(plan)
    if not cloth.measured:
        return None, None, None
    mean, sd = final_length(cloth, now.to_weave.rows)
    reach = TEN_PERCENT_POINT * sd
    between = (mean - reach, mean + reach)
    tolerance = LENGTH_TOLERANCE * wanted_cm
    if now.finished or plan.hold is Hold.LENGTH:
        return mean, between, None
    over = 1.0 - float(normal_below((wanted_cm + tolerance - mean) / max(sd, 1e-9)))
    under = float(normal_below((wanted_cm - tolerance - mean) / max(sd, 1e-9)))
    mend = density_to_mend(cloth, now.to_weave.rows, wanted_cm)
    if mend is None or max(over, under) < LENGTH_SURE:
        return mean, between, None
    # A beat can be changed by a few rows in 10 cm, not at will.
    can = abs(mend / cloth.rows_per_10cm - 1.0) < BEAT_CAN_CHANGE
    return mean, between, LengthWarning(mean - wanted_cm, mend, can)
