"""What is entered of a loom: its name, how it is built, its measures and the seats on its bench."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from tracker.domain import defaults
from tracker.domain.act import ActKind
from tracker.domain.errors import BadEntry
from tracker.domain.loom import Loom, LoomKind
from tracker.domain.rug import RugBook, RugPlan, RugStage
from tracker.domain.rules import LOOM_CM, LOOM_SIZE_CM, MOST_SEATS, NAME
from tracker.presenters import entry_text
from tracker.presenters.entries.form import EntryForm, FormKind, Question, SmallForm, Sort, note_question
from tracker.words import _


class LoomForm(SmallForm):
    """A loom; a correction of its measures goes to the plans that took them from it."""

    kind = FormKind.LOOM
    value_type = Loom
    deed = ActKind.LOOM_ENTERED
    of_book = True

    def title(self, name: str) -> str:
        return _("A loom")

    def title_of_correction(self) -> str:
        return _("Correct the loom")

    def answers_of_book(self) -> dict[str, Any]:
        return {"kind": str(LoomKind.UPRIGHT), "seats": 1}

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        def measure(
            key: str, label: str, least: float, hint: str = "", usual_cm: float | None = None
        ) -> Question:
            return Question(
                key, label, Sort.NUMBER, _("cm"), decimals=1, least=least, most=LOOM_CM.most, optional=True, hint=hint, usual_cm=usual_cm, of_length=True
            )  # fmt: skip

        kinds = tuple((str(kind), entry_text.loom_kind_words(kind)) for kind in LoomKind)
        return (
            Question("name", _("Name"), Sort.TEXT, most=NAME.most, hint=_("as you call it")),
            Question("kind", _("Kind of loom"), Sort.CHOICE, choices=kinds),
            measure("width_cm", _("Clear width"), LOOM_SIZE_CM.least, _("between its sides")),
            measure("longest_warp_cm", _("Longest warp"), LOOM_SIZE_CM.least, _("from end to end")),
            measure("waste_cm", _("Loom waste"), LOOM_CM.least, usual_cm=defaults.LOOM_WASTE_CM),
            Question("seats", _("Seats on the bench"), Sort.NUMBER, least=1, most=MOST_SEATS),
            note_question(),
        )

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> Loom:
        if not answers["name"]:
            raise BadEntry(_("Give the loom a name."))
        return Loom(id=form.record_id, **{**answers, "kind": LoomKind(answers["kind"])})

    def along(
        self, value: Loom, opened: Mapping[str, Any], plans: tuple[RugPlan, ...]
    ) -> tuple[RugPlan, ...]:
        """Return the plans that took a measure from the loom and still have it, with the corrected one."""
        changed = []
        for plan in plans:
            if plan.loom_id != value.id or plan.stage is RugStage.FINISHED:
                continue
            told: dict[str, Any] = {}
            if opened.get("width_cm") == plan.loom_width_cm != value.width_cm:
                told["loom_width_cm"] = value.width_cm
            if value.waste_cm is not None and opened.get("waste_cm") == plan.loom_waste_cm != value.waste_cm:
                told["loom_waste_cm"] = value.waste_cm
            if told:
                changed.append(replace(plan, **told))
        return tuple(changed)
