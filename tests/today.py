"""The day on which the tests take place."""

from __future__ import annotations

from datetime import date

TODAY = date(2026, 11, 25)
"""A Wednesday."""
