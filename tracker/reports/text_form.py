"""The three answers as text and as JSON, for a machine without a screen and for whoever reads along."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from typing import Any

from tracker.domain.costs import order_of
from tracker.domain.finished_size import sides_of, tolerance_cm
from tracker.domain.material_plan import MaterialPlan
from tracker.domain.rug import RugBook, RugPlan, Yarn
from tracker.domain.shared_warp import warp_of
from tracker.domain.washing import washing_loss
from tracker.forecast.answers import Answers, YarnAnswer, YarnWord
from tracker.presenters.answer_words import (
    chance_words,
    date_holds_if,
    day_range,
    ends_before,
    is_beyond,
    last_row_label,
    mass_range,
    next_row_words,
    reckoned_day,
    silent_words,
    yarn_code,
    yarn_words,
)
from tracker.presenters.cloth_shape import build_shape_state
from tracker.presenters.costs import costs_text, costs_values
from tracker.presenters.entry_text import set_aside_words, stage_words
from tracker.presenters.looms import LoomsState
from tracker.presenters.marks import mark_lines, summary_words
from tracker.presenters.material import build_material_state
from tracker.presenters.order import facts_told, order_values, tells_promise
from tracker.presenters.preparation import build_preparation_state
from tracker.presenters.rates import loom_hours, rate_words, rates_of
from tracker.presenters.shopping import build_shopping_state
from tracker.presenters.size_words import (
    agreement_words,
    finished_size_words,
    length_warning_words,
    washing_words,
)
from tracker.presenters.standing import buy_of
from tracker.presenters.warp_words import on_warp_words, turn_words
from tracker.presenters.yarn import order_words
from tracker.words import _, day, mass, n_, number, one_after_another, percent, work_words


def yarn_text(yarn: Yarn, answer: YarnAnswer, rows: int, today: date) -> str:
    """Return one yarn's answer on a line or two."""
    between = mass_range(answer.needed_low_g, answer.needed_high_g)
    need = mass(answer.needed_g)
    line = _("  {code:>3} {name:<16} {words:<24} on hand {hand}, still needed {need}").format(
        code=yarn_code(yarn),
        name=yarn.name,
        words=yarn_words(answer),
        hand=mass(answer.on_hand_g),
        need=f"{need} ({between})" if between else need,
    )
    if answer.runs_out_row is not None and (answer.word is YarnWord.NOT_BOUGHT or ends_before(answer, rows)):
        line += "\n" + " " * 22 + _("runs out at row {row}").format(row=number(answer.runs_out_row))
        if answer.runs_out_day:
            line += ", " + day(answer.runs_out_day, today)
    order = order_words(yarn, answer, today)
    if order:
        line += "\n" + " " * 22 + order
    if answer.mixed_lots:
        line += (
            "\n" + " " * 22 + _("mixed dye lots: {lots}").format(lots=one_after_another(answer.mixed_lots))
        )
    return line


def as_text(book: RugBook, answers: Answers, currency: str = "", unit: str = "cm") -> str:
    """Return the three answers for one rug as plain text, and what it costs where that is known; lengths in `unit`."""
    where, finish, today, plan = answers.where, answers.finish, answers.day, book.plan
    lines = [
        plan.name,
        "=" * len(plan.name),
        _("On {day}").format(day=day(today)),
        "",
        _("Row {row} of {rows}, {percent} of the knots ({knots} of {all})").format(
            row=number(where.rows_woven),
            rows=number(where.rows),
            percent=percent(where.share),
            knots=number(where.knots_woven),
            all=number(where.knots),
        ),
    ]
    if where.knots_begun:
        lines.append(_("At the loom: {words}").format(words=next_row_words(where, book)))
    if answers.basis.from_plan:
        lines.append(_("No session yet: all that follows comes from the plan."))
    else:
        lines.append(
            n_("{count} session", "{count} sessions", answers.basis.sessions).format(
                count=number(answers.basis.sessions)
            )
        )
        told = loom_hours(book)
        if told.total:
            lines[-1] += f", {told.total}"
        if more := told.more or ("" if told.total else _("hours not given")):
            lines[-1] += f"; {more}"
    lines.append("")
    if answers.silent_days is not None:
        lines.append(": ".join(silent_words(answers.silent_days)[:2]))
    elif finish is None:
        lines.append(_("The last row is woven."))
    else:
        lines.append(
            f"{last_row_label(answers.basis)}: {reckoned_day(finish.middle, today)} "
            f"({day_range(finish.early, finish.late, today)})"
        )
        if condition := date_holds_if(book, answers):
            lines.append(condition)
        lines.append(_("{hours} at the loom to go").format(hours=work_words(finish.hours_left)))
        lines += rate_words(book, answers)
        if finish.ready:
            lines.append(_("Ready to hand over about {day}").format(day=reckoned_day(finish.ready, today)))
        if finish.chance_of_wish is not None and plan.wished_day:
            lines.append(
                _("Last row by {day}: {chance}").format(
                    day=day(plan.wished_day, today), chance=chance_words(finish.chance_of_wish)
                )
            )
        for name, row, early, middle, late in finish.marks:
            lines.append(
                _("  {name}, row {row}: about {day} ({range})").format(
                    name=name,
                    row=number(row),
                    day=reckoned_day(middle, today),
                    range=day_range(early, late, today),
                )
            )
    if book.loom is not None:
        lines += ["", _("Loom: {name}").format(name=book.loom.name)]
    shared = warp_of(book)
    if shared is not None:
        lines.append(" ".join((on_warp_words(shared, unit) + ".", turn_words(shared, plan.id))).rstrip())
    agreement = agreement_words(plan, unit, order_of(book) is not None)
    if agreement is not None:
        lines += ["", f"{finished_size_words(plan, unit)}: {agreement[0]}"]
    if washing_words(plan):
        lines += ["", washing_words(plan)]
    mistakes = summary_words(book)
    if mistakes:
        lines += ["", mistakes]
        lines += [
            f"  {line.where}: {line.note}".removesuffix(": ")
            for line in mark_lines(book, today)
            if not line.mended
        ]
    if answers.length_warning:
        lines += ["", length_warning_words(answers.length_warning, unit)]
    shape = build_shape_state(book, answers, unit)
    for warning, advice in zip(shape.warnings, shape.advice, strict=True):
        lines += ["", f"{warning} {advice}"]
    if shape.warnings:
        lines.append(shape.rows_left)
    lines += ["", _("Yarn, worst first")]
    yarns = {yarn.id: yarn for yarn in book.yarns}
    for answer in answers.yarns:
        yarn = yarns.get(answer.yarn_id)
        if yarn is not None:
            lines.append(yarn_text(yarn, answer, answers.where.rows, today))
    of_order = facts_told(book, currency, today)
    if of_order:
        lines += ["", _("Order")]
        lines += [f"  {fact.label:<24} {fact.figure}" for fact in of_order]
    costs = costs_text(book, answers, currency)
    if costs:
        lines += ["", *costs.splitlines()]
    aside = set_aside_words(book)
    if aside:
        lines += ["", aside]
    if answers.basis.rests_on or answers.basis.moved_by:
        lines.append("")
        lines += [*answers.basis.rests_on, *answers.basis.moved_by]
    return "\n".join(lines) + "\n"


def plain(value: Any) -> Any:
    """Return a value of the answers as JSON can say it: dates as ISO 8601, masses and lengths as numbers."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if isinstance(value, float):
        return round(value, 4)
    return value


def as_values(book: RugBook, answers: Answers, currency: str = "") -> dict[str, Any]:
    """Return the three answers for one rug as plain values for JSON; units stand in the names."""
    yarns = {yarn.id: yarn for yarn in book.yarns}
    values = plain(answers)
    # How pace is shared between rugs is the forecast's own affair; that it is stands among the reasons.
    del values["taught"]
    values["where"]["share"] = round(answers.where.share, 4)
    for line in values["yarns"]:
        yarn = yarns.get(line["yarn_id"])
        if yarn is not None:
            line.update(name=yarn.name, role=yarn.role.value, number=yarn.number)
    if answers.finish is not None:
        values["finish"]["beyond_reckoning"] = is_beyond(answers.finish.middle, answers.day)
    if values["finish"] is not None and not tells_promise(book):
        del values["finish"]["chance_of_promise"]
    order = order_values(book, currency)
    if order is not None:
        values["order"] = order
    values["pace"] = {
        **plain(rates_of(book, answers)),
        "planned_hours_a_week": plain(book.plan.hours_per_week),
    }
    values["costs"] = costs_values(book, answers, currency)
    values["mistakes"] = [
        {
            "row": mark.row,
            "first_knot": mark.first_knot,
            "last_knot": mark.last_knot,
            "note": mark.note,
            "day": plain(mark.day),
            "mended_day": plain(mark.mended_day),
        }
        for mark in book.marks
    ]
    values["set_aside"] = plain(book.set_aside)
    rug = {"id": book.plan.id, "name": book.plan.name, "stage": book.plan.stage.value}
    return {"rug": {**rug, **_size_values(book.plan)}, **values}


def _size_values(plan: RugPlan) -> dict[str, Any]:
    """Return the finished size that was ordered, and the one that was measured, with what is allowed between them."""
    sides = sides_of(plan)
    return {
        "ordered_width_cm": plain(plan.width_cm),
        "ordered_length_cm": plain(plan.length_cm),
        "measured_as": plan.size_measure.value,
        "finished_width_cm": plain(plan.finished_width_cm),
        "finished_length_cm": plain(plan.finished_length_cm),
        "unwashed_width_cm": plain(plan.unwashed_width_cm),
        "unwashed_length_cm": plain(plan.unwashed_length_cm),
        "unwashed_g": plain(plan.unwashed_g),
        "washed_g": plain(plan.washed_g),
        "washing_took": plain(washing_loss(plan)),
        "tolerance_width_cm": plain(tolerance_cm(plan.width_cm)),
        "tolerance_length_cm": plain(tolerance_cm(plan.length_cm)),
        "within_tolerance": None if sides is None else all(side.within for side in sides),
    }


def shelf_text(plans: tuple[RugPlan, ...]) -> str:
    """Return the rugs of a book, a line each."""
    if not plans:
        return _("The book is empty: no rug is planned yet.") + "\n"
    return "".join(f"{plan.name} ({stage_words(plan.stage)})\n" for plan in plans)


def looms_values(state: LoomsState) -> list[Any]:
    """Return the looms, what lies on each and who sits where as plain values for JSON."""
    return [plain(card) for card in state.cards]


def plan_text(
    book: RugBook, plan: MaterialPlan, answers: Answers, currency: str = "", unit: str = "cm"
) -> str:
    """Return the material plan of one rug as plain text, lengths in `unit`: the cloth, every yarn, what to buy, what to prepare."""
    title = _("Material for {name}").format(name=book.plan.name)
    words = build_material_state(book, plan, answers, unit)
    lines = [title, "=" * len(title)]
    for group in words.groups:
        lines += ["", ", ".join(part for part in (group.title, group.of) if part)]
        lines += [f"  {fact.label:<24} {fact.figure}" for fact in group.facts]
        for yarn in group.yarns:
            lines.append(f"  {yarn.number:>3} {yarn.name:<16} {yarn.need} {yarn.range}".rstrip())
            lines += [" " * 22 + line for line in yarn.lines]
    shopping = build_shopping_state(book, plan, answers, currency)
    lines += ["", _("Shopping list") + ": " + shopping.headline]
    if shopping.cost:
        lines.append("  " + shopping.cost)
    for dealer in shopping.groups:
        open_lines = [line for line in dealer.lines if not line.bought]
        if open_lines:
            lines.append(f"  {dealer.dyer}")
        for line in open_lines:
            cost = _("price {cost}").format(cost=line.cost) if line.cost else ""
            what = ", ".join(part for part in (line.amount, line.lot, line.mass, cost) if part)
            lines.append(f"  {line.number:>3} {line.name:<16} {what}")
            lines.append(" " * 22 + line.note)
            if line.warning:
                lines.append(" " * 22 + line.warning)
    prepared = build_preparation_state(book, plan, answers.day, unit)
    lines += ["", _("Preparation") + ": " + prepared.headline]
    if prepared.warp:
        lines.append("  " + prepared.warp)
    for check in prepared.groups:
        lines.append(f"  {check.title}")
        lines += [f"  {line.number:>3} {line.name:<16} {line.words}" for line in check.lines]
    if words.warnings:
        lines += ["", *words.warnings]
    return "\n".join(lines) + "\n"


def plan_values(book: RugBook, plan: MaterialPlan, answers: Answers) -> dict[str, Any]:
    """Return the material plan of one rug as plain values for JSON; units stand in the names."""
    values = {
        field.name: plain(getattr(plan, field.name))
        for field in fields(plan)
        if field.name not in ("plan", "shopping", "taught")
    }
    values["finished"].update(
        total_g=round(plan.finished.total_g, 4),
        g_per_m2=round(plan.finished.g_per_m2, 4),
    )
    by_yarn = {answer.yarn_id: answer for answer in answers.yarns}
    yarns = {yarn.id: yarn for yarn in book.yarns}
    shopping = []
    for line in plan.shopping.lines:
        buy = buy_of(line, by_yarn.get(line.yarn_id), yarns[line.yarn_id])
        # One mass to buy, and what is over then, on every page and here.
        spare_g = line.on_hand_g + buy.mass_g - line.need_g
        shopping.append(
            {
                **plain(line),
                "skeins": buy.skeins,
                "to_buy_g": plain(buy.mass_g),
                "cost": plain(buy.cost),
                "spare_g": plain(spare_g),
                "covers_high": line.on_hand_g + buy.mass_g >= line.need_high_g,
                "buy": plain(buy),
            }
        )
    values["shopping"] = shopping
    return values
