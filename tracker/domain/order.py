"""The order behind a rug: for whom it is woven, by when, for how much, what is paid, how it gets there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class OrderItem(StrEnum):
    """One thing an order says, which the rug's record may or may not tell."""

    CUSTOMER = "customer"
    PROMISED = "promised day"
    PRICE = "price"
    PAID = "paid"
    OWED = "owed"
    DELIVERY = "delivery"


class DeliveryWay(StrEnum):
    """How a rug gets to its customer."""

    UNSAID = "not said"
    FETCHED = "fetched"
    BROUGHT = "brought"
    SENT = "sent"


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What was agreed with the customer of one rug.

    `price` is what was agreed, in the book's one currency; `costs.Pricing` says how a price is reckoned, this one
    what was shaken hands on. Nothing of an order is told in the record of the rug but what `shown` names.
    """

    id: str
    rug_id: str
    customer: str = ""
    promised_day: date | None = None
    """The day by which the rug is to be ready to hand over, steps after weaving done."""
    price: float | None = None
    way: DeliveryWay = DeliveryWay.UNSAID
    address: str = ""
    """Where it goes, or how the customer is reached."""
    delivered_day: date | None = None
    note: str = ""
    shown: tuple[OrderItem, ...] = ()
    born: int = 0

    @property
    def is_blank(self) -> bool:
        """Whether nothing is said of it."""
        said = (self.customer, self.promised_day, self.address, self.delivered_day, self.note)
        return not any(said) and self.price is None and self.way is DeliveryWay.UNSAID


class PaymentKind(StrEnum):
    """What a customer's payment is."""

    DEPOSIT = "deposit"
    REST = "rest"


@dataclass(frozen=True, slots=True, kw_only=True)
class Payment:
    """What a customer paid for a rug on one day, in the book's one currency."""

    id: str
    rug_id: str
    day: date
    amount: float
    kind: PaymentKind = PaymentKind.DEPOSIT
    note: str = ""
    born: int = 0
