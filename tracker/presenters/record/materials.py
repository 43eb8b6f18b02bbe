"""The list of materials: what each yarn is and what it gave."""

from __future__ import annotations

from tracker.domain.dye_lots import bands_of, changes_of, dye_lots_of, marks_of
from tracker.domain.material_plan import MaterialPlan
from tracker.domain.rug import Role, RugBook, Yarn
from tracker.forecast.answers import Answers
from tracker.presenters.answer_words import yarn_code
from tracker.presenters.dye_lots import record_words
from tracker.presenters.record.values import YarnEntry
from tracker.presenters.record.yarn_use import YarnSum, basis_words, knots_so_far, yarn_use, yarns_in_order
from tracker.presenters.trade_words import fibre_words
from tracker.words import _, mass, n_, number, one_after_another, parts_that_add_up, shown_difference_g


def yarn_entries(
    book: RugBook, answers: Answers, plan: MaterialPlan, so_far: bool = False
) -> tuple[YarnEntry, ...]:
    """Return one entry for each yarn, in the order they are read; with `so_far`, the knots that are tied already."""
    tied = knots_so_far(book) if so_far else None
    needs = {need.yarn_id: need for need in plan.needs}
    counted = {
        need.yarn_id: need.knots if tied is None else tied.get(need.yarn_id, 0.0) for need in plan.pile
    }
    # As they are told they make all knots.
    knots_told = dict(zip(counted, parts_that_add_up(tuple(counted.values())), strict=True))
    entries = []
    for yarn in yarns_in_order(book):
        lots = [lot for lot in book.lots if lot.yarn_id == yarn.id]
        dyers = list(dict.fromkeys(who for who in [*(lot.dyer for lot in lots), yarn.dyer] if who))
        use = yarn_use(book, answers, plan, yarn)
        marks = _marks_in_rug(book, yarn, use.mass_g)
        lines = [", ".join(part for part in (fibre_words(yarn.fibre), yarn.count) if part)]
        source = one_after_another(dyers)
        if marks:
            said = n_("dye lot {lots}", "dye lots {lots}", len(marks)).format(lots=one_after_another(marks))
            source = f"{source}, {said}" if source else said
        if source:
            lines.append(source)
        if changed := record_words(book, yarn):
            lines.append(changed)
        need = needs.get(yarn.id)
        entries.append(
            YarnEntry(
                number=yarn_code(yarn),
                name=yarn.name,
                swatch=yarn.swatch,
                role=yarn.role,
                lines=tuple(lines),
                knots=number(knots_told.get(yarn.id, 0.0)) if yarn.role is Role.PILE else "",
                share=float(getattr(need, "share", 0.0)) if yarn.role is Role.PILE else 0.0,
                used="–" if use.told_g is None else mass(use.told_g),
                basis="" if use.mass_g is None else basis_words(use),
            )
        )
    return tuple(entries)


def yarn_heads(book: RugBook, so_far: bool) -> tuple[str, str, str]:
    """Return what the list's knots and grams are called, and the sentence above it."""
    if not book.sessions:
        return _("Knots"), _("Yarn needed"), ""
    waste = _("With loom waste, and what knife and shears take off.")
    if so_far:
        return _("Knots so far"), _("Yarn so far"), waste
    return _("Knots"), _("Yarn used"), waste


def yarn_sum_lines(total: YarnSum) -> tuple[tuple[str, str], ...]:
    """Return what the yarns add up to: taken in all, of it in the finished rug, and what was left or cut off."""
    if not total.taken_g:
        return ()
    lines = [(_("In all"), mass(total.taken_g))]
    rest = None if total.stays_g is None else shown_difference_g(total.taken_g, total.stays_g)
    if total.stays_g is not None and rest is not None and rest >= 0:
        if total.weighed:
            lines.append((_("In the finished rug, weighed"), mass(total.stays_g)))
            lines.append((_("Left on the loom, cut off, shorn, washed out"), mass(rest)))
        else:
            lines.append((_("In the finished rug"), mass(total.stays_g)))
            lines.append((_("Left on the loom, cut off, shorn, in fringes and flat ends"), mass(rest)))
    return tuple(lines)


def _marks_in_rug(book: RugBook, yarn: Yarn, used_g: float | None) -> tuple[str, ...]:
    """Return the dye lots a yarn was knotted from; all that were bought where nobody can tell.

    A lot that was bought in reserve and never opened is not in the rug, and the customer is not told of it.
    """
    lots = [lot for lot in book.lots if lot.yarn_id == yarn.id]
    if yarn.role is not Role.PILE or not book.sessions:
        return marks_of(lots)
    opened = [band.dye_lot for band in bands_of(dye_lots_of(lots), changes_of(book, yarn.id))]
    if used_g is None or used_g > sum(one.mass_g for one in {one.lot_id: one for one in opened}.values()):
        # More was used than those hold: another was opened without a word.
        return marks_of(lots)
    return tuple(dict.fromkeys(one.mark for one in opened if one.mark))
