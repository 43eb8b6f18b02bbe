"""The one currency of a book."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tracker.words import is_currency

CURRENCY = "currency"
"""The setting of the book that names its one currency by the code of ISO 4217."""


def currency_of(settings: Mapping[str, Any]) -> str:
    """Return the book's currency, "" when none is named."""
    code = settings.get(CURRENCY)
    return code if isinstance(code, str) and is_currency(code) else ""
