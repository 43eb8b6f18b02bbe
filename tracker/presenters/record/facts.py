"""The facts of the record: the rug as planned, how it was woven, how it stands today."""

from __future__ import annotations

from collections.abc import Iterable

from tracker.domain.costs import order_of
from tracker.domain.finished_size import measured_density
from tracker.domain.material_plan import MaterialPlan
from tracker.domain.rug import KnotKind, Role, RugBook, Yarn
from tracker.domain.washing import washing_loss
from tracker.domain.work import tempo_of
from tracker.forecast.answers import Answers, YarnAnswer, YarnWord
from tracker.presenters.answer_words import day_range, reckoned_day, silent_words, yarn_words
from tracker.presenters.entry_text import begun_words, names_of
from tracker.presenters.fact import Fact
from tracker.presenters.rates import hours_words, knots_an_hour
from tracker.presenters.record.yarn_use import YarnSum
from tracker.presenters.size_words import (
    agreement_words,
    beat_of,
    density_words,
    finished_size_words,
    loss_words,
    one_side_words,
)
from tracker.presenters.trade_words import fibre_words, knot_kind_name, offset_words
from tracker.words import _, length, mass, n_, number, one_after_another, percent, small_length


def weaving_days(book: RugBook) -> int:
    """Return the days on which somebody wove."""
    return len({session.day for session in book.woven_sessions})


def days_count(count: int) -> str:
    """Return "12 days"."""
    return n_("{count} day", "{count} days", count).format(count=number(count))


def fibres_of(yarns: Iterable[Yarn]) -> str:
    """Name each fibre of these yarns once."""
    return one_after_another(list(dict.fromkeys(fibre_words(yarn.fibre) for yarn in yarns)))


def facts_of(
    book: RugBook, answers: Answers, plan: MaterialPlan, total: YarnSum, unit: str
) -> tuple[Fact, ...]:
    """Return what the rug is: size, knots, density, pile, foundation, weight, time and weavers.

    `total` is what the yarns gave: the weight of a finished rug is what stays of it.
    """
    rug, density = book.plan, plan.density
    inches = unit == "inch"
    agreement = agreement_words(rug, unit, order_of(book) is not None)
    measured = one_side_words(rug, unit) if agreement is None else agreement[0]
    if agreement is None and rug.finished_length_cm is None and answers.final_length_cm is not None:
        on_loom = _("length by the measure on the loom: about {length}").format(
            length=length(answers.final_length_cm, unit)
        )
        measured = f"{measured}; {on_loom}" if measured else on_loom
    kind_more = {
        KnotKind.SYMMETRIC: _("round both warps"),
        KnotKind.ASYMMETRIC: _("round one warp, behind the other"),
        KnotKind.ROD: _("looped round both warps and a rod, then cut"),
    }
    knot_more = kind_more[rug.knot_kind]
    if rug.jufti_share:
        knot_more += "; " + _("over four warps in {share} of the field").format(
            share=percent(rug.jufti_share)
        )
    wefts, warps, pile = book.yarns_of(Role.WEFT), book.yarns_of(Role.WARP), book.yarns_of(Role.PILE)
    foundation = []
    if warps:
        foundation.append(_("{fibre} warp").format(fibre=fibres_of(warps)))
    if warps and rug.warp_offset_degrees:
        foundation.append(_("every second warp {how}").format(how=offset_words(rug.warp_offset_degrees)))
    if wefts:
        foundation.append(
            n_("{count} weft of {fibre}", "{count} wefts of {fibre}", len(wefts)).format(
                count=number(len(wefts)), fibre=fibres_of(wefts)
            )
        )
    known = measured_density(rug, book.rows_woven)
    planned = density_words(rug.knots_per_10cm, rug.rows_per_10cm, unit)
    if known is None:
        close = Fact(
            _("Density"),
            planned,
            (
                _("as planned, {knots} knots in a square inch")
                if inches
                else _("as planned, {knots} knots in a square metre")
            ).format(knots=number((density.per_square_inch if inches else density.per_m2) * rug.tied_share)),
        )
    else:
        close = Fact(
            _("Density"),
            density_words(known.knots_per_10cm, known.rows_per_10cm, unit),
            (
                _("measured, {knots} knots in a square inch; planned: {planned}")
                if inches
                else _("measured, {knots} knots in a square metre; planned: {planned}")
            ).format(
                knots=number((known.per_square_inch if inches else known.per_m2) * rug.tied_share),
                planned=f"{beat_of(rug.knots_per_10cm, unit)} × {beat_of(rug.rows_per_10cm, unit)}",
            ),
        )
    if rug.washed_g is not None:
        weight = Fact(_("Weight"), mass(rug.washed_g), _("weighed, washed and dry"))
    elif rug.unwashed_g is not None:
        weight = Fact(_("Weight"), mass(rug.unwashed_g), _("weighed before washing"))
    elif total.stays_g and total.learnt:
        weight = Fact(
            _("Weight"),
            _("about {mass}").format(mass=mass(total.stays_g)),
            _("calculated from the yarn used, without fringes and flat ends"),
        )
    else:
        weight = Fact(
            _("Weight"),
            _("about {mass}").format(mass=mass(plan.finished.total_g)),
            _("when finished: from the plan, without fringes and flat ends"),
        )
    lost, named = loss_words(washing_loss(rug)), weavers_named(book)
    return (
        Fact(_("Size"), finished_size_words(rug, unit, book.rows_woven), measured),
        Fact(
            _("Knots"),
            number(plan.knots),
            _("{across} across, {rows} rows").format(
                across=number(rug.knots_across), rows=number(answers.where.rows)
            ),
        ),
        close,
        Fact(_("Knot"), knot_kind_name(rug.knot_kind.value), knot_more),
        Fact(
            _("Pile"),
            small_length(rug.pile_height_mm, unit),
            _("{fibre}, {colours}").format(
                fibre=fibres_of(pile),
                colours=n_("{count} colour", "{count} colours", len(pile)).format(count=number(len(pile))),
            )
            if pile
            else "",
        ),
        *((Fact(_("Foundation"), foundation[0], ", ".join(foundation[1:])),) if foundation else ()),
        weight,
        *((Fact(_("Taken by washing"), lost[0], ", ".join(lost[1:])),) if lost else ()),
        Fact(_("At the loom"), _loom_time(book)),
        *((Fact(_("Woven by"), named, named_in_words(book)),) if named else ()),
    )


def hours_told(value: float, usual: bool, more: bool) -> str:
    """Say hours to whom the rug is handed: about so many where some are usual ones, and more where some evenings have none."""
    said = hours_words(value)
    if usual:
        said = _("about {hours}").format(hours=said)
    return _("{hours} and more").format(hours=said) if more else said


def _hours_of_all(book: RugBook) -> str:
    """Say the hours of all sessions; "" where none has any."""
    hours = sum(session.hours or 0.0 for session in book.sessions)
    untimed = any(session.hours is None for session in book.told_sessions)
    return hours_told(hours, bool(book.hours_not_given), untimed) if hours else ""


def _loom_time(book: RugBook) -> str:
    if not book.woven_sessions:
        return _("not begun")
    figure, hours = days_count(weaving_days(book)), _hours_of_all(book)
    return _("{days}, {hours}").format(days=figure, hours=hours) if hours else figure


def weavers_named(book: RugBook) -> str:
    """Name everybody who sat at the loom; "" where nobody is named."""
    names = names_of((book,))
    sat = dict.fromkeys(who for session in book.sessions for who in session.weavers)
    return one_after_another([names.weaver(who) for who in sat])


def named_in_words(book: RugBook) -> str:
    """Say that others may have woven, too, where some sessions name nobody; "" where all do or none does."""
    named, told = sum(bool(session.weavers) for session in book.told_sessions), book.sessions_told
    if not any(session.weavers for session in book.sessions) or named == told:
        return ""
    return _("as far as it was noted")


def weaving_facts(book: RugBook) -> tuple[Fact, ...]:
    """Return how it was woven: days, hours, rows and knots an hour; nothing before the first row.

    What these are counted from is the weaver's own affair and stands in what the rug taught (`shelf.build_lesson_state`).
    """
    if not book.woven_sessions:
        return ()
    facts = [Fact(_("Days at the loom"), number(weaving_days(book)))]
    if hours := _hours_of_all(book):
        facts.append(Fact(_("Hours at the loom"), hours))
    facts.append(Fact(_("Rows woven"), number(book.rows_woven)))
    tempo = tempo_of(book)
    if tempo.knots_per_hour is not None:
        facts.append(Fact(_("Knots an hour"), number(knots_an_hour(tempo)), _("by one weaver")))
    return tuple(facts)


def facts_of_today(book: RugBook, answers: Answers) -> tuple[Fact, ...]:
    """Return today's answers."""
    where, finish, today = answers.where, answers.finish, answers.day
    facts = [
        Fact(
            _("Where it stands"),
            _("row {row} of {rows}").format(row=number(where.rows_woven), rows=number(where.rows)),
            ", ".join(
                filter(
                    None,
                    [
                        begun_words(where.knots_begun) if where.knots_begun else "",
                        _("{percent} of the knots").format(percent=percent(where.share)),
                    ],
                )
            ),
        )
    ]
    if finish is not None:
        facts.append(
            Fact(
                _("Last row about"),
                reckoned_day(finish.middle, today),
                day_range(finish.early, finish.late, today),
            )
        )
        if finish.ready is not None and finish.ready > finish.middle:
            facts.append(
                Fact(_("Ready about"), reckoned_day(finish.ready, today), _("with the steps after weaving"))
            )
    elif answers.silent_days is not None:
        facts.append(Fact(*silent_words(answers.silent_days)))
    else:
        facts.append(Fact(_("Last row"), _("woven"), ""))
    yarns = {yarn.id: yarn.name for yarn in book.yarns}
    wanting = [one for one in answers.yarns if one.word not in (YarnWord.ENOUGH, YarnWord.DONE)]

    def said(one: YarnAnswer) -> str:
        return f"{yarns.get(one.yarn_id, '')}: {yarn_words(one)}"

    if wanting:
        figure = n_("{count} yarn to watch", "{count} yarns to watch", len(wanting)).format(
            count=number(len(wanting))
        )
        shown = [said(one) for one in wanting[:4]]
        if len(wanting) > len(shown):
            rest = len(wanting) - len(shown)
            shown.append(n_("{count} more", "{count} more", rest).format(count=number(rest)))
        facts.append(Fact(_("The yarn"), figure, "; ".join(shown)))
    elif answers.yarns and finish is not None:
        facts.append(Fact(_("The yarn"), _("every yarn lasts"), ""))
    return tuple(facts)
