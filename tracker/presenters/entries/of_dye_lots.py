"""What is entered of the dye lots of a yarn: a lot opened, from which row on."""

from __future__ import annotations

from datetime import date
from typing import Any

from tracker.domain.act import ActKind
from tracker.domain.dye_lots import dye_lot_with, dye_lots_of, open_dye_lots
from tracker.domain.lot_change import LotChange
from tracker.domain.lot_moves import MovedLot
from tracker.domain.rug import RugBook, Yarn
from tracker.domain.rules import RULES, Range
from tracker.presenters.dye_lots import lot_words
from tracker.presenters.entries.form import EntryForm, FormKind, Question, SmallForm, Sort
from tracker.words import _, mass


def _bounds(field: str) -> Range:
    rule = RULES[LotChange][field]
    assert isinstance(rule, Range)
    return rule


class LotChangeForm(SmallForm):
    """Another dye lot opened, or planned to be."""

    kind = FormKind.LOT_CHANGE
    value_type = LotChange
    deed = ActKind.LOT_OPENED

    def title(self, name: str) -> str:
        return _("Open another dye lot: {name}").format(name=name)

    def title_of_correction(self) -> str:
        return _("Correct the change of dye lot")

    def first_answers(self, book: RugBook, today: date, yarn: Yarn | None) -> dict[str, Any]:
        others = open_dye_lots(book, yarn.id)[1:] if yarn is not None else ()
        return {
            "day": today.isoformat(),
            "lot_id": others[0].lot_id if others else None,
            "row": max(1, book.rows_woven + 1),
            "blend_rows": 0,
            "done_day": today.isoformat(),
        }

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        row, blend = _bounds("row"), _bounds("blend_rows")
        return (
            Question("lot_id", _("Dye lot"), Sort.CHOICE, choices=self._choices(form, book)),
            Question("row", _("From row"), Sort.NUMBER, least=row.least, most=row.most),
            Question(
                "blend_rows",
                _("Rows by turns"),
                Sort.NUMBER,
                least=blend.least,
                most=blend.most,
                optional=True,
                hint=_("0: changed at once; a row of each lot in turn hides a line in a wide field"),
            ),
            Question(
                "done_day", _("Changed on"), Sort.DAY, optional=True, hint=_("empty while it is only planned")
            ),
        )

    def _choices(self, form: EntryForm, book: RugBook | None) -> tuple[tuple[str | None, str], ...]:
        """Return the dye lots bought; the one chosen stands under the purchase by which it was named."""
        chosen = form.answers.get("lot_id")
        dye_lots = dye_lots_of([lot for lot in book.lots if lot.yarn_id == form.yarn_id]) if book else ()
        mine = dye_lot_with(dye_lots, str(chosen))
        choices: list[tuple[str | None, str]] = []
        for dye_lot in dye_lots:
            words = lot_words(dye_lot)
            moved = any(isinstance(lot, MovedLot) for lot in dye_lot.lots)
            said = (_("{lot}, {mass} with what was moved") if moved else _("{lot}, {mass} bought")).format(
                lot=words, mass=mass(dye_lot.mass_g)
            )
            choices.append((chosen if dye_lot is mine else dye_lot.lot_id, said[:1].upper() + said[1:]))
        if chosen and mine is None:
            choices.append((chosen, _("a dye lot that is not in the book any more")))
        return tuple(choices)

    def caution(self, form: EntryForm, book: RugBook) -> str:
        """Say what to do first where there is no other dye lot to open."""
        lots = dye_lots_of([lot for lot in book.lots if lot.yarn_id == form.yarn_id])
        if form.correcting or len(lots) > 1:
            return ""
        return _("Only one dye lot of this yarn is in the book. Enter what you bought first.")

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> LotChange:
        entered = form.day_of("day")
        assert entered is not None, "check_draft reads it"
        return LotChange(
            **form.of_yarn,
            lot_id=answers["lot_id"],
            day=entered,
            row=answers["row"],
            blend_rows=answers["blend_rows"] or 0,
            done_day=answers["done_day"],
        )

    def check_draft(self, form: EntryForm) -> None:
        """Raise ValueError where the day of entry is none."""
        super().check_draft(form)
        if form.day_of("day") is None:
            raise ValueError("no day of entry")
