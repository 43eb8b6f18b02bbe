"""The list of materials: what each yarn is and what it gave."""

from __future__ import annotations

from tracker.domain.dye_lots import marks_of
from tracker.domain.material_plan import MaterialPlan
from tracker.domain.rug import Role, RugBook
from tracker.forecast.answers import Answers
from tracker.presenters.answer_words import yarn_code
from tracker.presenters.dye_lots import record_words
from tracker.presenters.record.values import YarnEntry
from tracker.presenters.record.yarn_use import yarn_use, yarns_in_order
from tracker.presenters.trade_words import fibre_words
from tracker.words import _, mass, n_, number, one_after_another


def yarn_entries(book: RugBook, answers: Answers, plan: MaterialPlan) -> tuple[YarnEntry, ...]:
    """Return one entry for each yarn, in the order they are read."""
    needs = {need.yarn_id: need for need in plan.needs}
    basis = {
        "weighed": _("weighed"),
        "reckoned": _("calculated"),
        "plan": _("from the plan"),
        "needed": _("needed"),
    }
    entries = []
    for yarn in yarns_in_order(book):
        lots = [lot for lot in book.lots if lot.yarn_id == yarn.id]
        dyers = list(dict.fromkeys(who for who in [*(lot.dyer for lot in lots), yarn.dyer] if who))
        marks = marks_of(lots)
        lines = [", ".join(part for part in (fibre_words(yarn.fibre), yarn.count) if part)]
        source = one_after_another(dyers)
        if marks:
            said = n_("dye lot {lots}", "dye lots {lots}", len(marks)).format(lots=one_after_another(marks))
            source = f"{source}, {said}" if source else said
        if source:
            lines.append(source)
        if changed := record_words(book, yarn):
            lines.append(changed)
        use = yarn_use(book, answers, plan, yarn)
        need = needs.get(yarn.id)
        knots = getattr(need, "knots", 0.0)
        entries.append(
            YarnEntry(
                number=yarn_code(yarn),
                name=yarn.name,
                swatch=yarn.swatch,
                role=yarn.role,
                lines=tuple(lines),
                knots=number(knots) if yarn.role is Role.PILE else "",
                share=float(getattr(need, "share", 0.0)) if yarn.role is Role.PILE else 0.0,
                used="–" if use.mass_g is None else mass(use.mass_g),
                basis="" if use.mass_g is None else basis[use.basis],
            )
        )
    return tuple(entries)
