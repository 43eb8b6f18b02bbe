"""What is entered of balls handed out to a weaver, or taken back from her."""

from __future__ import annotations

from datetime import date
from typing import Any

from tracker.domain.act import ActKind
from tracker.domain.dye_lots import dye_lots_of
from tracker.domain.hand_out import HandOut, HandOutKind
from tracker.domain.rug import RugBook, Yarn
from tracker.domain.rules import RULES, Range
from tracker.domain.winding import full_ball_g
from tracker.presenters.dye_lots import lot_words
from tracker.presenters.entries.form import (
    EntryForm,
    FormKind,
    Question,
    SmallForm,
    Sort,
    day_answered,
    day_question,
    note_question,
)
from tracker.words import _


class HandOutForm(SmallForm):
    """Balls that went to a weaver's seat, or came back from it."""

    kind = FormKind.HAND_OUT
    value_type = HandOut
    deed = ActKind.BALLS_HANDED_OUT

    def title(self, name: str) -> str:
        return _("Balls handed out: {name}").format(name=name)

    def title_of_correction(self) -> str:
        return _("Correct the balls handed out")

    def first_answers(self, book: RugBook, today: date, yarn: Yarn | None) -> dict[str, Any]:
        answers = day_answered(today)
        who = book.weavers[0].id if len(book.weavers) == 1 else None
        return {**answers, "kind": HandOutKind.GIVEN.value, "weaver_id": who, "balls": 1}

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        ways = ((HandOutKind.GIVEN.value, _("given")), (HandOutKind.RETURNED.value, _("returned")))
        people = tuple((weaver.id, weaver.name) for weaver in (book.weavers if book else ()))
        balls, mass_g = (RULES[HandOut][name] for name in ("balls", "mass_g"))
        assert isinstance(balls, Range)
        assert isinstance(mass_g, Range)
        return (
            Question("kind", _("Given or returned"), Sort.CHOICE, choices=ways),
            Question("weaver_id", _("Who"), Sort.CHOICE, choices=((None, _("whoever weaves")), *people)),
            Question(
                "balls", _("Balls"), Sort.NUMBER, decimals=2, least=balls.least, most=balls.most
            ),
            Question(
                "mass_g", _("Weight"), Sort.NUMBER, _("g"), decimals=1, least=mass_g.least, most=mass_g.most,
                optional=True, hint=_("empty: full balls"),
            ),
            Question("lot_id", _("Dye lot"), Sort.CHOICE, choices=self._lots(form, book)),
            day_question(),
            note_question(),
        )  # fmt: skip

    def _lots(self, form: EntryForm, book: RugBook | None) -> tuple[tuple[str | None, str], ...]:
        """Return the dye lots of the yarn, and that nobody says it; one that is gone stays what it was."""
        lots = dye_lots_of([lot for lot in book.lots if lot.yarn_id == form.yarn_id]) if book else ()
        choices: list[tuple[str | None, str]] = [(None, _("not said"))]
        choices += [(lot.lot_id, lot_words(lot)) for lot in lots]
        said = form.answers.get("lot_id")
        if said not in dict(choices):
            choices.append((said, _("a dye lot that is not in the book any more")))
        return tuple(choices)

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> HandOut:
        yarn = form.yarn_in(book)
        mass_g = answers["mass_g"]
        if mass_g is None:
            mass_g = round(answers["balls"] * full_ball_g(yarn), 1)
        return HandOut(
            **form.of_yarn, **(answers | {"kind": HandOutKind(answers["kind"]), "mass_g": max(mass_g, 0.1)})
        )
