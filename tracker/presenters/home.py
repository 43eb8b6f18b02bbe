"""The first view: where the rug stands, whether the yarn lasts, when it is done."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from tracker.domain.as_of import sessions_to_come
from tracker.domain.rug import PreparationKind, Role, RugBook, RugStage, Yarn
from tracker.domain.shared_warp import warp_of
from tracker.forecast.answers import Answers, YarnAnswer, YarnWord
from tracker.presenters.answer_words import (
    TONES,
    day_near,
    day_range,
    first_record_doubt,
    if_warp_is_free,
    if_yarn_comes,
    is_beyond,
    last_row_if_yarn_comes,
    last_row_label,
    last_row_under,
    may_run_short,
    next_row_words,
    probably_enough,
    reckoned_day,
    silent_words,
    tile_words,
    to_buy_words,
    to_come_words,
    wanted_yarns,
    woven_unbought,
    woven_words,
    yarn_code,
    yarn_words,
)
from tracker.presenters.cloth_shape import off_measure_words
from tracker.presenters.entry_text import set_aside_words
from tracker.presenters.home_state import (
    MOST_ALERTS,
    FinishBand,
    HomeAsk,
    HomeState,
    YarnAlert,
    YarnLine,
    YarnsTold,
    YarnTone,
)
from tracker.presenters.marks import open_mistakes_words
from tracker.presenters.picture import shown_rows
from tracker.words import _, day_short, n_, number, percent

BAND_AIR = 1.12
"""Length of the line of days over the days to the last of them."""


def yarn_alert(yarn: Yarn, answer: YarnAnswer, rows: int, today: date) -> YarnAlert | None:
    """Return what is to be said of a yarn that is not enough; None for one that is."""
    more = act = ""
    tone = YarnTone.LACKING
    if answer.word is YarnWord.SHORT:
        title = _("{name} runs short").format(name=yarn.name)
    elif answer.word is YarnWord.TIGHT:
        if may_run_short(answer):
            title = _("{name} may run short")
        else:
            title = _("{name}: probably enough") if probably_enough(answer) else _("{name}: just enough")
        title, tone = title.format(name=yarn.name), YarnTone.TIGHT
        more = tile_words(answer)
        if more == to_buy_words(answer.order_g):
            # Beside "just enough" the reason is said, as on the page of yarn.
            more = _("{to_buy}, for safety").format(to_buy=more)
    elif answer.word is YarnWord.ASKED:
        # What is asked stands among the questions.
        title, tone = _("{name}: not sure to last").format(name=yarn.name), YarnTone.TIGHT
    elif answer.word is YarnWord.NOT_BOUGHT:
        title = _("{name} is still to buy").format(name=yarn.name)
    else:
        return None
    row, on = answer.runs_out_row, answer.runs_out_day
    if answer.word is YarnWord.SHORT and row is not None and row < rows:
        more = (
            _("ends at row {row}").format(row=number(row))
            if on is None
            else _("ends about {day}").format(day=day_near(on, today))
        )
    if answer.word not in (YarnWord.TIGHT, YarnWord.ASKED) and answer.order_g > 0:
        act = to_buy_words(answer.order_g)
    return YarnAlert(yarn.id, yarn_code(yarn), yarn.swatch, title, more, act, tone)


def _told(book: RugBook, answers: Answers, most: int) -> YarnsTold:
    """Return the yarns to see to, at most so many, and what is said of which others; before anything is bought nothing is amiss yet."""
    yarns = {yarn.id: yarn for yarn in book.yarns}
    known = [answer for answer in answers.yarns if answer.yarn_id in yarns]
    # Small yarns in a row are read by their numbers: the worst have a card each above them.
    place = {yarn.id: (yarn.role is not Role.PILE, yarn.number, yarn.id) for yarn in book.yarns}
    every = tuple(sorted((answer.yarn_id for answer in known), key=place.__getitem__))
    if not known:
        return YarnsTold((), "", every)
    if all(answer.word is YarnWord.NOT_BOUGHT for answer in known):
        return YarnsTold((), _("nothing bought yet"), every)
    if all(answer.word is YarnWord.DONE for answer in known):
        return YarnsTold((), _("no more needed"), every)
    told = [yarn_alert(yarns[a.yarn_id], a, answers.where.rows, answers.day) for a in known]
    wanting = [alert for alert in told if alert is not None]
    hidden = len(wanting) - most
    others = tuple(yarn_id for yarn_id in every if yarn_id not in {alert.yarn_id for alert in wanting})
    if hidden > 0:
        shown = {alert.yarn_id for alert in wanting[:most]}
        to_watch = {alert.yarn_id for alert in wanting} - shown
        others = tuple(yarn_id for yarn_id in every if yarn_id in to_watch)
        said = n_("{count} more yarn to watch", "{count} more yarns to watch", hidden).format(
            count=number(hidden)
        )
        if hidden == 1:
            # A single one is named, and the rest of the answer has room beside it.
            lasting = [_("the others will last")] if len(wanting) < len(known) else []
            said = "; ".join([wanting[-1].title, *lasting])
    elif len(wanting) == len(known):
        said = ""
    else:
        said = _("the others will last") if wanting else _("all yarns last")
    return YarnsTold(tuple(wanting[:most]), said, others)


def finish_band(early: date, middle: date, late: date, today: date, target: date | None) -> FinishBand:
    """Lay the days of the last row out on a line from today, a little air after the last of them."""
    days = [early, middle, late, *([target] if target is not None else [])]
    span = max(1.0, (max(days) - today).days * BAND_AIR)

    def share(on: date) -> float:
        return max(0.0, min(1.0, (on - today).days / span))

    return FinishBand(share(early), share(late), share(middle), -1.0 if target is None else share(target))


def yarn_line(yarn: Yarn, answer: YarnAnswer) -> YarnLine:
    """Return how one yarn stands on a list."""
    share = 1.0 if answer.needed_g <= 0 else max(0.0, min(1.0, answer.on_hand_g / answer.needed_g))
    return YarnLine(
        yarn_id=yarn.id,
        number=yarn_code(yarn),
        name=yarn.name,
        swatch=yarn.swatch,
        word=tile_words(answer),
        tone=TONES[answer.word],
        tight=answer.word in (YarnWord.TIGHT, YarnWord.ASKED),
        share=share,
    )


def yarn_lines(book: RugBook, answers: Answers) -> tuple[YarnLine, ...]:
    """Return every colour and weft, worst first."""
    yarns = {yarn.id: yarn for yarn in book.yarns}
    return tuple(yarn_line(yarns[a.yarn_id], a) for a in answers.yarns if a.yarn_id in yarns)


def _conditions(book: RugBook, answers: Answers) -> tuple[HomeAsk, ...]:
    """Return what the date holds under, each with the page where it is seen to."""
    conditions = []
    for session in sessions_to_come(book, answers.day)[:1]:
        words = to_come_words(book, answers.day)
        conditions.append(HomeAsk(words, "warning", "session", session_id=session.id))
    if answers.finish is None:
        return tuple(conditions)
    if words := if_warp_is_free(book, answers):
        conditions.append(HomeAsk(words, "warp", "looms"))
    if words := if_yarn_comes(book, answers):
        wanted = wanted_yarns(book, answers)
        one = len(wanted) == 1
        conditions.append(
            HomeAsk(words, "buy", "yarn_story" if one else "shopping", wanted[0][1].id if one else "")
        )
    return tuple(conditions)


def _asks(book: RugBook, answers: Answers) -> tuple[HomeAsk, ...]:
    """Return what of the record is asked about or still to be mended, each with the page where it is."""
    asks = []
    if words := set_aside_words(book):
        of_plan = any(entry.kind == "rug_plan" for entry in book.set_aside)
        asks.append(HomeAsk(words, "warning", "plan" if of_plan else "diary"))
    words, yarn_id = first_record_doubt(book, answers)
    if words and book.plan.stage is not RugStage.FINISHED:
        # Of a finished rug its yarn's page asks, to which its lessons lead.
        asks.append(HomeAsk(words, "weigh", "yarn_story", yarn_id))
    unbought = () if book.plan.stage is RugStage.FINISHED else woven_unbought(book, answers)
    if len(unbought) > 1:
        words = n_(
            "{count} yarn is in the woven rows, but no purchase of it is noted. What was there?",
            "{count} yarns are in the woven rows, but no purchase of them is noted. What was there?",
            len(unbought),
        ).format(count=number(len(unbought)))
        asks.append(HomeAsk(words, "buy", "yarn"))
    if words := open_mistakes_words(book):
        asks.append(HomeAsk(words, "flag", "zoom"))
    if words := off_measure_words(book, answers):
        asks.append(HomeAsk(words, "measure", "cloth"))
    if _before_the_first_knot(book, answers):
        # Who notes neither yarn nor preparation weaves all the same.
        asks.append(HomeAsk(_("Log the session"), "row", "session"))
    return tuple(asks)


def _before_the_first_knot(book: RugBook, answers: Answers) -> tuple[str, str] | None:
    """Return the step of the job that comes next, and its page: yarn first, then what is made of it; None once knots come next."""
    if book.sessions or answers.where.rows_woven or book.plan.stage is RugStage.FINISHED:
        return None
    if answers.yarns and all(answer.word is YarnWord.NOT_BOUGHT for answer in answers.yarns):
        return _("Next: buy the yarn"), "shopping"
    shared = warp_of(book)
    mounted = any(done.kind is PreparationKind.WARP for done in book.preparations)
    if not mounted and (shared is None or not shared.mounted):
        return _("Next: balls and warp"), "preparation"
    # Whoever has begun to wind knows how many balls she wants before the first knot: of a large rug never all of them.
    wound = any(done.kind is not PreparationKind.WARP for done in book.preparations)
    return None if wound else (_("Next: wind balls"), "preparation")


def build_home_state(book: RugBook, answers: Answers, ticks: Collection[str] = ()) -> HomeState:
    """Turn the answers into what the first view shows; `ticks`: keys of the steps ticked off in the guide."""
    where, finish, today = answers.where, answers.finish, answers.day
    wish = ""
    band = None
    if answers.silent_days is not None:
        finish_label, finish_figure, finish_range = silent_words(answers.silent_days)
    elif finish is None:
        finish_label, finish_figure = woven_words(book, today)
        finish_range = ""
    else:
        finish_label = last_row_label(answers.basis)
        finish_figure = reckoned_day(finish.middle, today)
        finish_range = day_range(finish.early, finish.late, today)
        band = finish_band(finish.early, finish.middle, finish.late, today, book.plan.wished_day)
        if finish.chance_of_wish is not None and book.plan.wished_day:
            wish = _("target {day}").format(day=day_near(book.plan.wished_day, today))
    last = ""
    if where.rows_last_session is not None:
        count = where.rows_last_session
        last = (
            n_("{rows} row in the last session", "{rows} rows in the last session", count)
            if count >= 0
            else n_("{rows} row in the last session", "{rows} rows in the last session", -count)
        ).format(rows=f"{count:+d}".replace("-", "−"))
    basis = answers.basis.moved_by[0] if answers.basis.moved_by else ""
    if answers.basis.from_plan:
        basis = _("All of this comes from the plan: no session yet.")
    if book.plan.stage is RugStage.FINISHED:
        act, next_page = _("Share and print the record"), "export"
    elif where.rows_woven >= where.rows:
        from tracker.presenters.guide import (
            stages_ticked,
            what_follows,  # after the last row only: the first view waits for no more
        )

        follows = what_follows(book, stages_ticked(ticks))
        # Its page is where the steps stand together with the day.
        act, next_page = follows.words, "finish"
    elif (first := _before_the_first_knot(book, answers)) is not None:
        act, next_page = first
    else:
        act, next_page = _("Log the session"), "session"
    return HomeState(
        rug_name=book.plan.name,
        row_figure=number(where.rows_woven),
        row_of=_("of {rows} rows woven").format(rows=number(where.rows)),
        knots=_("{percent} of the knots").format(percent=percent(where.share)),
        share=where.share,
        last=last,
        finish_label=finish_label,
        finish_figure=finish_figure,
        finish_range=finish_range,
        wish=wish,
        conditions=_conditions(book, answers),
        asks=_asks(book, answers),
        yarns=yarn_lines(book, answers),
        basis=basis,
        from_plan=answers.basis.from_plan,
        act=act,
        next_page=next_page,
        rows_woven=where.rows_woven,
        picture_rows=shown_rows(book),
        told=_told(book, answers, MOST_ALERTS),
        one_told=_told(book, answers, 1),
        warps=book.plan.stage is not RugStage.FINISHED or book.plan.fringe_cm > 0,
        band=band,
        next_row=next_row_words(where, book),
        label_with_condition=last_row_if_yarn_comes(book, answers),
        label_under=last_row_under(book, answers),
    )


def _worst(answers: Answers) -> YarnAnswer | None:
    """Return the yarn of which there is least; None while all last."""
    wanting = (YarnWord.SHORT, YarnWord.TIGHT, YarnWord.ASKED, YarnWord.NOT_BOUGHT)
    return next((answer for answer in answers.yarns if answer.word in wanting), None)


def why_moved(before: Answers | None, after: Answers) -> str:
    """Say by how much a session just entered moved the date, and why; "" where nothing in it tells."""
    if before is None or before.finish is None or after.finish is None:
        return ""
    days = (after.finish.middle - before.finish.middle).days
    told, known = after.basis.moved_today, before.basis.moved_today
    if told is None or (known is not None and told.session_id == known.session_id) or told.days * days <= 0:
        return ""
    words = (
        n_("({days} day later: {why})", "({days} days later: {why})", days)
        if days > 0
        else n_("({days} day sooner: {why})", "({days} days sooner: {why})", -days)
    )
    return words.format(days=number(abs(days)), why=told.why)


def what_changed(
    before: Answers | None,
    after: Answers,
    book: RugBook,
    briefly: bool = False,
    why: str = "",
    where_said: bool = False,
) -> str:
    """Say in one line what an act did to the three answers; `briefly` leaves the yarn to the page.

    Who took an act back wants to know where the rug stands again, in a strip of a line or two. `why` the date moved
    (`why_moved`) comes first with the date, and the row, which the page shows anyway, last. `where_said`: the words before these say
    which part of a row was tied; the room is the date's then.
    """
    where = after.where
    parts = [_("Row {row} of {rows}").format(row=number(where.rows_woven), rows=number(where.rows))]
    if where.knots_begun:
        parts = [] if where_said else [next_row_words(where, book)]
    if after.finish is not None:
        moved = ""
        if before is not None and before.finish is not None:
            days = (after.finish.middle - before.finish.middle).days
            if days > 0:
                moved = " " + n_(
                    "({days} day later than before)", "({days} days later than before)", days
                ).format(days=days)
            elif days < 0:
                moved = " " + n_(
                    "({days} day sooner than before)", "({days} days sooner than before)", -days
                ).format(days=-days)
        if is_beyond(after.finish.middle, after.day):
            parts.append(reckoned_day(after.finish.middle, after.day))
        else:
            on = day_short(after.finish.middle, after.day)
            parts = [f"{on} {why}", *parts] if why else [*parts, on + moved]
    worst, was = _worst(after), None if before is None else _worst(before)
    same = (worst is None) == (was is None) and (
        worst is None or was is None or (worst.yarn_id, worst.word) == (was.yarn_id, was.word)
    )
    if briefly or (before is not None and same):
        pass  # The page says how the yarn stands; here only what the act changed of it.
    elif worst is not None:
        names = {yarn.id: yarn.name for yarn in book.yarns}
        parts.append(f"{names.get(worst.yarn_id, '')}: {yarn_words(worst)}")
    elif not after.finished and after.yarns:
        parts.append(_("every yarn lasts"))
    if worst is None and after.finished:
        parts.append(_("the last row is woven"))
    if why and len(parts) > 1:
        parts.append(parts.pop(1))
    return " · ".join(parts)
