"""What more than one place says of the forecast's answers: ranges, chances, the last row, how a yarn stands."""

from __future__ import annotations

import math
from datetime import date, timedelta

from tracker.domain.as_of import sessions_to_come
from tracker.domain.rug import Role, RugBook, Yarn
from tracker.domain.shopping import enough_g
from tracker.forecast.answers import Answers, Basis, Where, YarnAnswer, YarnWord
from tracker.forecast.thresholds import (
    FAR_YEARS,
    JUST_ENOUGH_SHARE,
    LIKELY_ABOVE,
    UNLIKELY_BELOW,
    VERY_LIKELY_ABOVE,
    VERY_UNLIKELY_BELOW,
)
from tracker.presenters.home_state import YarnTone
from tracker.words import _, day, day_short, days_from_to, mass, n_, number, shown_difference_g, shown_g

TONES = {
    YarnWord.ENOUGH: YarnTone.LASTS,
    YarnWord.TIGHT: YarnTone.TIGHT,
    YarnWord.ASKED: YarnTone.TIGHT,
    YarnWord.SHORT: YarnTone.LACKING,
    YarnWord.NOT_BOUGHT: YarnTone.LACKING,
    YarnWord.DONE: YarnTone.NO_MORE_NEEDED,
}

MONTHS_PLAIN = 300
"""Days ahead up to which a day and its month can be of one year only, so that the year need not be said."""


def code_of(role: Role, number: int) -> str:
    """Return the short mark of a yarn: a colour's number; wefts and warp are known by their names."""
    return str(number) if role is Role.PILE else ""


def yarn_code(yarn: Yarn) -> str:
    """Return the short mark of a yarn, as `code_of`."""
    return code_of(yarn.role, yarn.number)


def woven_words(book: RugBook, today: date) -> tuple[str, str]:
    """Return what stands in place of a date once every row is woven: a label, and the day of the last row or the end."""
    plan = book.plan
    if plan.finished_day:
        return _("Finished"), day(plan.finished_day, today)
    woven = max((session.day for session in book.woven_sessions), default=None)
    return _("Last row woven"), day(woven, today) if woven else _("woven")


def may_run_short(answer: YarnAnswer) -> bool:
    """True where a yarn is not called short, but what is there is less than what is likely still needed."""
    # Short by less than a gram is just enough.
    return answer.word is YarnWord.TIGHT and shown_g(answer.on_hand_g - answer.needed_g) < 0


def to_buy_words(grams: float) -> str:
    """Say what is to buy, in g."""
    return _("to buy {mass}").format(mass=mass(grams))


def yarn_words(answer: YarnAnswer) -> str:
    """Say in a few words whether a yarn lasts, with grams."""
    if answer.word is YarnWord.DONE:
        return _("done")
    if answer.word is YarnWord.NOT_BOUGHT:
        return to_buy_words(answer.order_g)
    if answer.word is YarnWord.SHORT:
        return _("short {mass}").format(mass=mass(shown_difference_g(answer.needed_g, answer.on_hand_g)))
    spare = shown_difference_g(answer.on_hand_g, answer.needed_g)
    if may_run_short(answer):
        return _("may run short, by about {mass}").format(mass=mass(-spare))
    return spare_words(answer.word, spare, answer.needed_g)


def probably_enough(answer: YarnAnswer) -> bool:
    """True where a yarn is tight for what is not known of it, not for what is there: as likely as not a good deal is left over."""
    return answer.word is YarnWord.TIGHT and _good_deal(
        shown_difference_g(answer.on_hand_g, answer.needed_g), answer.needed_g
    )


def _good_deal(spare_g: float, needed_g: float) -> bool:
    return spare_g > JUST_ENOUGH_SHARE * needed_g


def spare_words(word: YarnWord, spare_g: float, needed_g: float) -> str:
    """Say how sure it is that a yarn lasts of which, as likely as not, so many grams of what is needed are left over."""
    if word is YarnWord.ASKED:
        return _("not sure, {mass} spare by the record").format(mass=mass(spare_g))
    if word is YarnWord.TIGHT and _good_deal(spare_g, needed_g):
        return _("probably enough, {mass} spare").format(mass=mass(spare_g))
    if word is YarnWord.TIGHT:
        return _("just enough, {mass} spare").format(mass=mass(spare_g))
    return _("enough, {mass} spare").format(mass=mass(spare_g))


def word_of_need(gathered_g: float, need_g: float, need_high_g: float) -> YarnWord:
    """Return how a yarn stands that is used once, against the plan's need and the high end of its range, g.

    As every other yarn.
    """
    if gathered_g < need_g:
        return YarnWord.SHORT
    return YarnWord.ENOUGH if gathered_g >= enough_g(need_g, need_high_g) else YarnWord.TIGHT


def tile_words(answer: YarnAnswer) -> str:
    """Say the same as `yarn_words` on the narrow tiles of the first view, where the colour says whether it lasts.

    Where a yarn is just enough and the list proposes to buy some for safety, so does the tile.
    """
    spare = shown_difference_g(answer.on_hand_g, answer.needed_g)
    # Less than a gram either way is neither short nor spare.
    spare = spare if shown_g(spare) else 0.0
    if answer.word is YarnWord.ENOUGH:
        return _("{mass} spare").format(mass=mass(spare))
    if answer.word is YarnWord.ASKED:
        return _("not sure")
    if answer.word is YarnWord.TIGHT and spare >= 0 and answer.order_g:
        return to_buy_words(answer.order_g)
    if answer.word is YarnWord.TIGHT and spare >= 0:
        return _("just {mass} spare").format(mass=mass(spare))
    if answer.word is YarnWord.TIGHT:
        return _("about {mass} short").format(mass=mass(-spare))
    return yarn_words(answer)


def ends_before(answer: YarnAnswer, rows: int) -> bool:
    """True when a yarn is bought and likely to end before the last row.

    Of one with nothing missing no row is told: 0 g spare and an end fourteen rows before the last one, where few of its knots
    are left, would contradict each other.
    """
    bought = answer.word in (YarnWord.SHORT, YarnWord.TIGHT, YarnWord.ASKED)
    missing = answer.word is YarnWord.SHORT or shown_difference_g(answer.on_hand_g, answer.needed_g) < 0
    return bought and missing and answer.runs_out_row is not None and answer.runs_out_row < rows


def may_end_from(answer: YarnAnswer, rows: int) -> int | None:
    """Return the row from which a yarn may end that probably lasts; None where it ends before, or very likely lasts."""
    if answer.word is not YarnWord.TIGHT or answer.runs_out_row_range is None or ends_before(answer, rows):
        return None
    first = answer.runs_out_row_range[0]
    return first if first < rows else None


def may_just_last(answer: YarnAnswer) -> bool:
    """True for a yarn that is tight and likelier to last than not: no day can be told on which it ends."""
    return answer.word in (YarnWord.TIGHT, YarnWord.ASKED) and answer.chance >= 0.5


def nothing_bought(book: RugBook) -> bool:
    """True while neither a purchase nor a weighing is noted: then nothing is amiss yet with any yarn."""
    return not book.lots and not book.weighings


def wanted_yarns(book: RugBook, answers: Answers) -> tuple[tuple[date, Yarn], ...]:
    """Return (day by which it must be there, yarn) of every yarn without which the last row cannot be woven, as they end row by row.

    Those that run short before it and, once anything is bought, those still to buy.
    """
    yarns = {yarn.id: yarn for yarn in book.yarns}
    short = [
        (answer.runs_out_day, answer.runs_out_row or 0, yarns[answer.yarn_id])
        for answer in answers.yarns
        if (answer.word is YarnWord.SHORT and ends_before(answer, answers.where.rows))
        or (answer.word is YarnWord.NOT_BOUGHT and answer.order_g > 0 and not nothing_bought(book))
        if answer.runs_out_day is not None and answer.yarn_id in yarns
    ]
    short.sort(key=lambda one: (*one[:2], one[2].name))
    return tuple((day_, yarn) for day_, _row, yarn in short)


def _comes_late(short: tuple[date, Yarn], answers: Answers) -> date | None:
    """Return when a yarn bought today would come, where that is after it ended; None where it can be there in time."""
    comes = answers.day + timedelta(days=short[1].lead_days)
    return comes if comes > short[0] else None


def _buy_by(yarn: Yarn, answers: Answers) -> date | None:
    """Return by when a yarn is to be bought, as its page says; None where that is today or not known: told is when it is needed."""
    by = next((answer.order_by for answer in answers.yarns if answer.yarn_id == yarn.id), None)
    return by if by is not None and by > answers.day else None


def if_yarn_comes(book: RugBook, answers: Answers) -> str:
    """Say by when which yarn must be there for the date to hold; "" while none runs short.

    The date counts the rows, not the yarn: nobody can weave with what is not there.
    """
    short = wanted_yarns(book, answers)
    if answers.finish is None or not short:
        return ""
    first, name = short[0][0], short[0][1].name
    late, buy_by = _comes_late(short[0], answers), _buy_by(short[0][1], answers)
    if len(short) == 1 and late is not None:
        return _(
            "{name} ends about {day}; bought today it comes about {comes}. That wait is not in the date."
        ).format(name=name, day=day_near(first, answers.day), comes=day_near(late, answers.day))
    if len(short) == 1 and buy_by is not None:
        return _("Holds only if {name} is bought by {day}.").format(
            name=name, day=day_near(buy_by, answers.day)
        )
    if len(short) == 1:
        return _("Holds only with more {name} by {day}.").format(name=name, day=day_near(first, answers.day))
    orders = {answer.yarn_id: answer.order_by for answer in answers.yarns}
    by = [(ordered, yarn.name) for _needed, yarn in short if (ordered := orders[yarn.id]) is not None]
    if by:
        buy_by, name = min(by, key=lambda one: one[0])
        if buy_by <= answers.day:
            return n_(
                "Holds only if {count} yarn is bought, {name} now.",
                "Holds only if {count} yarns are bought, first {name} now.",
                len(short),
            ).format(count=number(len(short)), name=name)
        return n_(
            "Holds only if {count} yarn is bought, {name} by {day}.",
            "Holds only if {count} yarns are bought, first {name} by {day}.",
            len(short),
        ).format(count=number(len(short)), name=name, day=day_near(buy_by, answers.day))
    return n_(
        "Holds only with more of {count} yarn, {name} by {day}.",
        "Holds only with more of {count} yarns, first {name} by {day}.",
        len(short),
    ).format(count=number(len(short)), name=name, day=day_near(first, answers.day))


def last_row_if_yarn_comes(book: RugBook, answers: Answers) -> str:
    """Return what stands over the day of the last row where one yarn must come for it; "" where none or several must.

    A day that holds under a yarn is told with it on one line, where there is no room for a sentence below.
    """
    short = wanted_yarns(book, answers)
    if answers.finish is None or len(short) != 1:
        return ""
    if _comes_late(short[0], answers) is not None:
        return _("Last row, without the wait for {name}").format(name=short[0][1].name)
    buy_by = _buy_by(short[0][1], answers)
    if buy_by is not None:
        return _("Last row, if {name} is bought by {day}").format(
            name=short[0][1].name, day=day_near(buy_by, answers.day)
        )
    return _("Last row, with more {name} by {day}").format(
        name=short[0][1].name, day=day_near(short[0][0], answers.day)
    )


def first_day_ahead(book: RugBook, answers: Answers) -> date:
    """Return the day from which hours at the loom are reckoned with: today, the planned first day, or when its warp is free.

    A rug that waits for another on its warp waits with rows of its own, too.
    """
    begin = answers.day if book.woven_sessions else max(answers.day, book.plan.start_day)
    return begin if answers.ahead is None else answers.ahead.free_by(begin)


def last_row_under(book: RugBook, answers: Answers) -> str:
    """Return what stands over the day of the last row in large type, which pushes what is below it out of sight.

    Whatever the day holds under, in few words; "" where it is nothing.
    """
    short = wanted_yarns(book, answers)
    if answers.finish is None:
        return ""
    if answers.ahead is not None:
        if short:
            return _("Last row, if {rug} is off the warp and the yarn comes").format(rug=answers.ahead.name)
        return _("Last row, if {rug} is off the warp by {day}").format(
            rug=answers.ahead.name, day=day_near(first_day_ahead(book, answers), answers.day)
        )
    if len(short) > 1:
        return n_(
            "Last row, if {count} yarn comes in time", "Last row, if {count} yarns come in time", len(short)
        ).format(count=number(len(short)))
    return last_row_if_yarn_comes(book, answers)


def if_warp_is_free(book: RugBook, answers: Answers) -> str:
    """Say by when the rug before it must be off the warp for the date to hold; "" where it waits for none."""
    if answers.finish is None or answers.ahead is None:
        return ""
    return _("Holds only if {rug} is off the warp by {day}.").format(
        rug=answers.ahead.name, day=day_near(first_day_ahead(book, answers), answers.day)
    )


def date_holds_if(book: RugBook, answers: Answers) -> str:
    """Say all that the date holds under; "" where it is nothing."""
    return " ".join(
        words for words in (if_warp_is_free(book, answers), if_yarn_comes(book, answers)) if words
    )


def record_doubt_words(yarn: Yarn, answer: YarnAnswer) -> str:
    """Ask about a yarn whose record cannot be: more tied than there was, balls that held far more than the
    rows took, rows woven of what was never bought."""
    doubt = answer.balls_doubted
    if shown_g(answer.woven_unbought_g):
        return _("About {mass} of it is woven, but no purchase is noted. What was there?").format(
            mass=mass(answer.woven_unbought_g)
        )
    if answer.not_entered_g:
        return _("By the record this yarn ended {mass} ago, but you wove on. Is a purchase missing?").format(
            mass=mass(answer.not_entered_g)
        )
    if doubt is None:
        return ""
    words = (
        n_(
            "{count} shuttle of {each} used up, and the rows took about {used}: was it smaller?",
            "{count} shuttles of {each} used up, and the rows took about {used}: were they smaller?",
            math.ceil(doubt.count),
        )
        if yarn.role is Role.WEFT
        else n_(
            "{count} ball of {each} used up, and the rows took about {used}: was it smaller?",
            "{count} balls of {each} used up, and the rows took about {used}: were they smaller?",
            math.ceil(doubt.count),
        )
    )
    return words.format(count=number(doubt.count), each=mass(doubt.each_g), used=mass(doubt.used_g))


def woven_unbought(book: RugBook, answers: Answers) -> tuple[Yarn, ...]:
    """Return the yarns that are woven though no purchase of them is noted."""
    yarns = {yarn.id: yarn for yarn in book.yarns}
    return tuple(
        yarns[answer.yarn_id]
        for answer in answers.yarns
        if answer.yarn_id in yarns and shown_g(answer.woven_unbought_g)
    )


def first_record_doubt(book: RugBook, answers: Answers) -> tuple[str, str]:
    """Return the first such question of a rug with its yarn's name, and the yarn's id; ("", "") without one.

    Several yarns without a purchase are one question: it is not asked here.
    """
    yarns = {yarn.id: yarn for yarn in book.yarns}
    together = woven_unbought(book, answers)
    for answer in answers.yarns:
        yarn = yarns.get(answer.yarn_id)
        if len(together) > 1 and yarn in together:
            continue
        if yarn is not None and (words := record_doubt_words(yarn, answer)):
            return _("{name}: {told}").format(name=yarn.name, told=words), yarn.id
    return "", ""


def is_beyond(on: date, today: date) -> bool:
    """Tell whether a reckoned day lies so far ahead that it may have been cut off: it is no day to be told."""
    return (on - today).days >= FAR_YEARS * 365


def reckoned_day(on: date, today: date) -> str:
    """Say a reckoned day; one beyond reckoning as later than a year."""
    if is_beyond(on, today):
        # Of the years in which the bound may lie the one before: that much is sure.
        return _("later than {year}").format(year=today.year + FAR_YEARS - 1)
    return day(on, today)


def day_range(early: date, late: date, today: date) -> str:
    """Say an 80 % range of days."""
    if is_beyond(early, today):
        return _("too far off to say")
    if is_beyond(late, today):
        return _("likely {early} at the earliest").format(early=day(early, today))
    if early == late:
        return day(early, today)
    return _("likely {range}").format(range=days_from_to(early, late, today))


def day_near(on: date, today: date) -> str:
    """Say a day shortly, with its year only where another year could be meant."""
    return day_short(on, today if _needs_year(on, today) else on)


def _needs_year(on: date, today: date) -> bool:
    return abs((on - today).days) >= MONTHS_PLAIN


def chance_words(chance: float) -> str:
    """Say a chance (0 to 1) in plain words, never as none or as sure."""
    if chance < VERY_UNLIKELY_BELOW:
        return _("very unlikely")
    if chance < UNLIKELY_BELOW:
        return _("unlikely")
    if chance <= LIKELY_ABOVE:
        return _("even chance")
    if chance <= VERY_LIKELY_ABOVE:
        return _("likely")
    return _("very likely")


def silent_words(days: int) -> tuple[str, str, str]:
    """Say why no date is given: label, figure and what brings it back."""
    label = n_("Nothing entered for {count} day", "Nothing entered for {count} days", days)
    return label.format(count=number(days)), _("no date"), _("Log a session to get a date again.")


def to_come_words(book: RugBook, today: date) -> str:
    """Name the sessions dated on a day that is still to come, so that their day is corrected; "" where there are none."""
    ahead = sessions_to_come(book, today)
    if not ahead:
        return ""
    if len(ahead) == 1:
        return _("A session is dated {day}, which is still to come. Correct its day.").format(
            day=day(ahead[0].day, today)
        )
    return n_(
        "{count} session is dated ahead, the first {day}. Correct its day, or the phone's.",
        "{count} sessions are dated ahead, the first {day}. Correct their days, or the phone's.",
        len(ahead),
    ).format(count=number(len(ahead)), day=day(ahead[0].day, today))


def last_row_about(middle: date, today: date) -> str:
    """Say when the last row is woven: "last row about 12 January"."""
    if is_beyond(middle, today):
        return _("last row {later}").format(later=reckoned_day(middle, today))
    return _("last row about {day}").format(day=day(middle, today))


def last_row_label(basis: Basis) -> str:
    """Return what stands over the day of the last row, with what it rests on."""
    if basis.from_plan:
        return _("Last row, by the plan")
    if basis.sessions == 1:
        # One evening moves the plan's pace only a little.
        return _("Last row, by the plan and 1 session")
    return n_("Last row, from {count} session", "Last row, from {count} sessions", basis.sessions).format(
        count=number(basis.sessions)
    )


def mass_range(low_g: float, high_g: float) -> str:
    """Say an 80 % range of masses in g; "" when its ends look the same."""
    low, high = mass(low_g), mass(high_g)
    return "" if low == high else _("{low} to {high}").format(low=low, high=high)


def mass_range_in_full(low_g: float, high_g: float) -> str:
    """Say an 80 % range of masses in g, and how often it holds; "" when its ends look the same."""
    between = mass_range(low_g, high_g)
    return _("likely {range}").format(range=between) if between else ""


def mass_with_range(mass_g: float, low_g: float, high_g: float) -> str:
    """Say a mass in g and its 80 % range; the mass alone when both ends look the same."""
    between = mass_range_in_full(low_g, high_g)
    return _("{mass} ({range})").format(mass=mass(mass_g), range=between) if between else mass(mass_g)


def next_row_words(where: Where, book: RugBook) -> str:
    """Say which row comes next, and what of it is tied; "" before the first knot and after the last."""
    row = number(where.rows_woven + 1)
    if where.knots_begun:
        return _("row {row}: {tied} of {knots} knots").format(
            row=row, tied=number(where.knots_begun), knots=number(book.knots_across)
        )
    return _("row {row} next").format(row=row) if 0 < where.rows_woven < where.rows else ""
