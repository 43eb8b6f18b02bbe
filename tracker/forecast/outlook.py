"""The three answers for one rug on one day: where it stands, whether the yarn lasts, when it is done."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np

from tracker.domain.rug import Role, RugBook, RugPlan, Stage, Yarn
from tracker.forecast.answers import Answers, Basis, FinishAnswer, Where, YarnAnswer, YarnWord
from tracker.forecast.chart import RowsToWeave, rows_to_weave
from tracker.forecast.thresholds import ENOUGH_FROM, ORDER_CHANCE, SHORT_BELOW
from tracker.words import _, n_

KNOTS_PER_HOUR = 600.0
CHANGE_IN_KNOTS = 1.0
"""A colour change costs the time of so many knots (no source)."""
Z80 = 1.2815515655446004


def _chance_below(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def _pile_g_per_knot(plan: RugPlan, yarn: Yarn) -> float:
    knots_per_m2 = plan.knots_per_10cm * plan.rows_per_10cm * 100.0
    if yarn.pile_g_per_m2 and knots_per_m2:
        return yarn.pile_g_per_m2 / knots_per_m2
    pitch_mm = 100.0 / max(plan.knots_per_10cm, 1.0)
    length_mm = yarn.cut_length_mm or (2.0 * plan.pile_height_mm + 3.0 * pitch_mm + 6.0)
    return length_mm * yarn.tex * 1e-6


def _weft_g_per_row(plan: RugPlan, yarn: Yarn) -> float:
    take_up = yarn.take_up if yarn.take_up is not None else 0.05
    return plan.width_cm * (1.0 + take_up) * yarn.passes_per_row * yarn.tex * 1e-5


def outlook(book: RugBook, today: date, *, earlier: Sequence[RugBook] = (), seed: int = 20260101) -> Answers:
    """Give the three answers for one rug.

    Parameters
    ----------
    book : everything the book holds about the rug
    today : the weaver's local day; answers look ahead from its end
    earlier : books of this weaver's earlier rugs, from which pace and habits are borrowed
    seed : start of the random draws; the same book on the same day gives the same answer

    Returns
    -------
    Answers
    """
    plan = book.plan
    asked = rows_to_weave(book)
    rows = asked.rows
    woven = min(max(book.rows_woven, 0), rows)
    hours_woven = sum(session.hours or 0.0 for session in book.sessions)
    where = Where(
        rows_woven=book.rows_woven,
        rows=rows,
        knots_woven=woven * plan.knots_across,
        knots=rows * plan.knots_across,
        rows_last_session=book.sessions[-1].rows if book.sessions else None,
        hours_woven=hours_woven,
    )
    finished = plan.stage is Stage.FINISHED or woven >= rows
    finish = None if finished else _finish(book, today, asked, woven)
    yarns = _yarns(book, today, asked, woven, finish, finished)
    basis = Basis(sessions=len(book.sessions), from_plan=not book.sessions, rests_on=(_rests_on(book),))
    return Answers(day=today, where=where, yarns=yarns, finish=finish, basis=basis, finished=finished)


def _rests_on(book: RugBook) -> str:
    count = len(book.sessions)
    if not count:
        return _("From the plan alone; the first session will make it yours.")
    return n_("From {count} session.", "From {count} sessions.", count).format(count=count)


def _finish(book: RugBook, today: date, asked: RowsToWeave, woven: int) -> FinishAnswer:
    plan = book.plan
    work = asked.across + CHANGE_IN_KNOTS * asked.changes
    left = np.cumsum(work[woven:])
    rate = (plan.knots_per_hour or KNOTS_PER_HOUR) * max(1, plan.weavers_planned)
    timed = [s for s in book.sessions if s.hours and s.hours > 0]
    timed_rows = max(0, sum(s.rows for s in timed))
    timed_hours = sum(s.hours or 0.0 for s in timed)
    prior_hours = 10.0
    done_work = float(work[: max(woven, 1)].mean()) * timed_rows
    rate = (rate * prior_hours + done_work) / (prior_hours + timed_hours)
    hours_left = left / rate

    start = max(today, plan.start_day - timedelta(days=1))
    week = plan.hours_per_week
    spread = 0.35
    if book.sessions:
        first = book.sessions[0].day
        weeks = max((today - first).days + 1, 1) / 7.0
        sessions_hours = timed_hours * len(book.sessions) / max(len(timed), 1)
        week = (plan.hours_per_week * 2.0 + sessions_hours) / (2.0 + weeks)
        spread = 0.10 + 0.25 / math.sqrt(1.0 + weeks)
    days = hours_left / max(week, 0.1) * 7.0
    half_width = Z80 * np.sqrt((spread * days) ** 2 + 3.0 * days)

    def day(count: float) -> date:
        return start + timedelta(days=min(max(round(count), 1), 36500))

    places = np.unique(np.linspace(0, left.size - 1, 20).astype(int))
    bands = tuple(
        (
            woven + int(p) + 1,
            day(days[p] - half_width[p]),
            day(days[p]),
            day(days[p] + half_width[p]),
        )
        for p in places
    )
    _row, early, middle, late = bands[-1]
    after = sum(step.days for step in book.after_steps if step.done_day is None)
    chance = rows_a_day = None
    if plan.wished_day is not None:
        free = (plan.wished_day - start).days
        chance = _chance_below((free - float(days[-1])) / float(half_width[-1] / Z80))
        weaving = sum((start + timedelta(days=d + 1)).weekday() in plan.weekdays for d in range(max(free, 0)))
        rows_a_day = left.size / weaving if weaving else None
    return FinishAnswer(
        middle=middle,
        early=early,
        late=late,
        ready=middle + timedelta(days=math.ceil(after)),
        chance_of_wish=chance,
        rows_a_day_for_wish=rows_a_day,
        hours_left=float(hours_left[-1]),
        bands=bands,
    )


def _yarns(
    book: RugBook, today: date, asked: RowsToWeave, woven: int, finish: FinishAnswer | None, finished: bool
) -> tuple[YarnAnswer, ...]:
    answers = []
    for place, yarn in enumerate(asked.pile):
        need = np.concatenate([[0.0], np.cumsum(asked.knots[:, place])])
        answers.append(
            _yarn(book, yarn, need, _pile_g_per_knot(book.plan, yarn), woven, today, finish, finished)
        )
    for yarn in book.yarns_of(Role.WEFT):
        need = np.arange(asked.rows + 1, dtype=float)
        answers.append(
            _yarn(book, yarn, need, _weft_g_per_row(book.plan, yarn), woven, today, finish, finished)
        )
    worst = {
        YarnWord.SHORT: 0,
        YarnWord.NOT_BOUGHT: 1,
        YarnWord.TIGHT: 2,
        YarnWord.ENOUGH: 3,
        YarnWord.DONE: 4,
    }
    return tuple(sorted(answers, key=lambda a: (worst[a.word], a.chance)))


def _yarn(
    book: RugBook,
    yarn: Yarn,
    need: np.ndarray,
    g_each: float,
    woven: int,
    today: date,
    finish: FinishAnswer | None,
    finished: bool,
) -> YarnAnswer:
    lots = [lot for lot in book.lots if lot.yarn_id == yarn.id]
    weighings = [w for w in book.weighings if w.yarn_id == yarn.id]
    bought = sum(lot.mass_g for lot in lots)
    spoilt = sum(s.mass_g for s in book.spoilt if s.yarn_id == yarn.id)
    done, left = float(need[woven]), float(need[-1] - need[woven])

    ended = sum(count for s in book.sessions for name, count in s.used if name == yarn.id)
    sd = 0.20
    if g_each > 0 and done > 0:
        used = sd_used = None
        if weighings:
            last = weighings[-1]
            after = sum(lot.mass_g for lot in lots if lot.day > last.day)
            rows_then = sum(s.rows for s in book.sessions if (s.day, s.born) <= (last.day, last.born))
            then = float(need[min(max(rows_then, 0), need.size - 1)])
            if then > 0:
                used = (bought - after - spoilt - last.mass_g) * done / then
                sd_used = 10.0 + 0.03 * abs(used)
        elif ended >= 1:
            used = (ended + 0.5) * yarn.unit_mass_g
            sd_used = 0.3 * yarn.unit_mass_g + 0.05 * used
        if used is not None and sd_used is not None and used > 0:
            weight = (sd_used / used) ** -2
            prior = sd**-2
            g_each *= math.exp(weight * math.log(used / done / g_each) / (weight + prior))
            sd = (weight + prior) ** -0.5
    used_g = done * g_each
    on_hand = max(0.0, bought - spoilt - used_g)
    on_sd = used_g * sd
    if weighings:
        last = weighings[-1]
        rows_then = sum(s.rows for s in book.sessions if (s.day, s.born) <= (last.day, last.born))
        since = max(0.0, done - float(need[min(max(rows_then, 0), need.size - 1)]))
        after = sum(lot.mass_g for lot in lots if lot.day > last.day)
        on_hand = max(0.0, last.mass_g + after - since * g_each)
        on_sd = math.hypot(last.resolution_g, since * g_each * sd)
    needed = left * g_each
    total_sd = max(math.hypot(needed * sd, on_sd), 1e-9)
    chance = 1.0 if left <= 0 else _chance_below((on_hand - needed) / total_sd)
    if finished or left <= 0:
        word, chance = YarnWord.DONE, 1.0
    elif not lots and not weighings:
        word = YarnWord.NOT_BOUGHT
    elif chance >= ENOUGH_FROM:
        word = YarnWord.ENOUGH
    elif chance < SHORT_BELOW:
        word = YarnWord.SHORT
    else:
        word = YarnWord.TIGHT

    row = out_day = out_rows = out_days = order_by = None
    order_g, skeins = 0.0, 0
    if word not in (YarnWord.DONE, YarnWord.ENOUGH):
        z = 2.0537489106318225 if ORDER_CHANCE >= 0.98 else 1.6448536269514722
        want = needed + z * total_sd - on_hand
        if want > 0:
            skeins = math.ceil(max(want, yarn.least_purchase_g) / max(yarn.skein_g, 1.0))
            order_g = skeins * yarn.skein_g

        def row_of(mass: float) -> int:
            return int(np.searchsorted(need, need[woven] + max(mass, 0.0) / max(g_each, 1e-9), side="right"))

        row = min(max(row_of(on_hand), woven + 1), need.size - 1)
        out_rows = (
            min(max(row_of(on_hand - Z80 * total_sd), woven + 1), need.size - 1),
            min(max(row_of(on_hand + Z80 * total_sd), woven + 1), need.size - 1),
        )
        if finish is not None and finish.bands:
            at = [band[0] for band in finish.bands]
            days = [
                [band[1].toordinal() for band in finish.bands],
                [band[2].toordinal() for band in finish.bands],
                [band[3].toordinal() for band in finish.bands],
            ]
            out_day = date.fromordinal(round(float(np.interp(row, at, days[1]))))
            out_days = (
                date.fromordinal(round(float(np.interp(out_rows[0], at, days[0])))),
                date.fromordinal(round(float(np.interp(out_rows[1], at, days[2])))),
            )
            if skeins:
                order_by = out_days[0] - timedelta(days=yarn.lead_days)
    dye_lots = tuple(dict.fromkeys(lot.dye_lot for lot in lots if lot.dye_lot))
    return YarnAnswer(
        yarn_id=yarn.id,
        word=word,
        chance=chance,
        bought_g=bought,
        on_hand_g=on_hand,
        on_hand_low_g=max(0.0, on_hand - Z80 * on_sd),
        on_hand_high_g=on_hand + Z80 * on_sd,
        needed_g=0.0 if word is YarnWord.DONE else needed,
        needed_low_g=0.0 if word is YarnWord.DONE else needed * math.exp(-Z80 * sd),
        needed_high_g=0.0 if word is YarnWord.DONE else needed * math.exp(Z80 * sd),
        short_g=0.0 if word is YarnWord.DONE else max(0.0, needed - on_hand),
        runs_out_row=row,
        runs_out_row_range=out_rows,
        runs_out_day=out_day,
        runs_out_day_range=out_days,
        order_g=order_g,
        order_skeins=skeins,
        order_by=order_by,
        mixed_lots=dye_lots if len(dye_lots) > 1 else (),
    )
