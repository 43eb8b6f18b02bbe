"""What is entered of money: a wage, money spent, the price by cost and margin, what the customer paid."""

from __future__ import annotations

from datetime import date
from typing import Any

from tracker.domain import rules
from tracker.domain.act import ActKind
from tracker.domain.costs import order_of
from tracker.domain.order import Payment, PaymentKind
from tracker.domain.rug import Cost, CostKind, PriceShown, Pricing, RugBook, Wage, WageBasis, Yarn
from tracker.presenters import entry_text
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

USUAL_KNOTS_PAID = 1000
"""Knots for which a wage by knots is said (common practice, no source)."""


def _amount_question(label: str) -> Question:
    return Question(
        "amount",
        label,
        Sort.NUMBER,
        decimals=entry_text.MONEY_DECIMALS_ENTERED,
        most=rules.PRICE.most,
        hint=_("in the currency of the book"),
    )


class WageForm(SmallForm):
    """What a weaver, or everybody, is paid by."""

    kind = FormKind.WAGE
    value_type = Wage
    deed = ActKind.WAGE_ENTERED

    def title(self, name: str) -> str:
        return _("A wage")

    def title_of_correction(self) -> str:
        return _("Correct the wage")

    def first_answers(self, book: RugBook, today: date, yarn: Yarn | None) -> dict[str, Any]:
        last = book.wages[-1] if book.wages else None
        return {
            "weaver_id": None,
            "first_day": None,
            "basis": str(last.basis if last else WageBasis.KNOTS),
            "each": last.each if last else USUAL_KNOTS_PAID,
        }

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        bases = (
            (str(WageBasis.KNOTS), _("knots")),
            (str(WageBasis.ROWS), _("rows")),
            (str(WageBasis.AREA), _("square metres")),
            (str(WageBasis.DAYS), _("days")),
        )
        people = tuple((weaver.id, weaver.name) for weaver in (book.weavers if book else ()))
        return (
            _amount_question(_("Wage")),
            Question("each", _("Paid for each"), Sort.NUMBER, least=1, most=1_000_000),
            Question("basis", _("What is paid for"), Sort.CHOICE, choices=bases),
            Question(
                "weaver_id",
                _("Who"),
                Sort.CHOICE,
                optional=True,
                choices=((None, _("everybody")), *people),
                hint=_("her own wage counts before everybody's"),
            ),
            Question(
                "first_day",
                _("From"),
                Sort.DAY,
                optional=True,
                hint=_("left open: from the first row of the rug"),
            ),
        )

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> Wage:
        basis, amount = WageBasis(answers["basis"]), float(answers["amount"])
        return Wage(**form.of_rug, **{**answers, "basis": basis, "amount": amount})


class CostForm(SmallForm):
    """Money spent beside yarn and wages."""

    kind = FormKind.COST
    value_type = Cost
    deed = ActKind.MONEY_SPENT

    def title(self, name: str) -> str:
        return _("Money spent")

    def title_of_correction(self) -> str:
        return _("Correct what was spent")

    def first_answers(self, book: RugBook, today: date, yarn: Yarn | None) -> dict[str, Any]:
        return {**day_answered(today), "kind": str(CostKind.OTHER)}

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        kinds = tuple((str(kind), entry_text.cost_kind_words(kind)) for kind in CostKind)
        return (
            _amount_question(_("Amount")),
            Question("kind", _("For"), Sort.CHOICE, choices=kinds),
            day_question(),
            note_question(_("washing, stretching, transport, rent of the loom ...")),
        )

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> Cost:
        kind, amount = CostKind(answers["kind"]), float(answers["amount"])
        return Cost(**form.of_rug, **{**answers, "kind": kind, "amount": amount})


class PricingForm(SmallForm):
    """The margin, and who reads the price."""

    kind = FormKind.PRICING
    value_type = Pricing
    deed = ActKind.PRICE_MADE

    def title(self, name: str) -> str:
        return _("Price by cost and margin")

    def title_of_correction(self) -> str:
        return _("Price by cost and margin")

    def first_answers(self, book: RugBook, today: date, yarn: Yarn | None) -> dict[str, Any]:
        return {"shown": str(PriceShown.HERE)}

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        return (
            Question(
                "percent",
                _("Margin"),
                Sort.NUMBER,
                _("%"),
                decimals=1,
                most=round(rules.MOST_MARGIN * 100),
                optional=True,
                hint=_("the share of the price that is left when the cost is paid"),
            ),
            Question(
                "shown",
                _("The price stands"),
                Sort.CHOICE,
                choices=(
                    (str(PriceShown.HERE), _("in the book only")),
                    (str(PriceShown.RECORD), _("in the record too")),
                ),
                hint=_("the customer reads the record; costs and wages are never in it"),
            ),
        )

    def answers_of(self, value: Pricing) -> dict[str, Any]:
        """Return the answers that an entry gives."""
        percent = None if value.margin is None else round(float(value.margin) * 100, 6)
        return {"percent": percent, "shown": str(value.shown)}

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> Pricing:
        percent = answers["percent"]
        return Pricing(
            **form.of_rug,
            margin=None if percent is None else round(percent / 100, 8),
            shown=PriceShown(answers["shown"]),
        )


class PaymentForm(SmallForm):
    """What the customer paid: a deposit, or the rest."""

    kind = FormKind.PAYMENT
    value_type = Payment
    deed = ActKind.PAYMENT_ENTERED

    def title(self, name: str) -> str:
        return _("Payment from the customer")

    def title_of_correction(self) -> str:
        return _("Correct the payment")

    def first_answers(self, book: RugBook, today: date, yarn: Yarn | None) -> dict[str, Any]:
        order = order_of(book)
        over = order is not None and order.delivered_day is not None
        kind = PaymentKind.REST if over or book.payments else PaymentKind.DEPOSIT
        return {**day_answered(today), "kind": str(kind)}

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        kinds = (
            (str(PaymentKind.DEPOSIT), _("deposit, before it is done")),
            (str(PaymentKind.REST), _("the rest, or a part of it")),
        )
        return (
            _amount_question(_("Amount")),
            Question("kind", _("For"), Sort.CHOICE, choices=kinds),
            day_question(),
            note_question(),
        )

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> Payment:
        kind, amount = PaymentKind(answers["kind"]), float(answers["amount"])
        return Payment(**form.of_rug, **{**answers, "kind": kind, "amount": amount})
