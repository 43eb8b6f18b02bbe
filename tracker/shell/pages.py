"""How a page is told to the shell: where it lives, and how it stands in the bar."""

from __future__ import annotations

import importlib
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PageInfo:
    """Where a page lives and how it stands in the app; its module is loaded when the page is first shown."""

    module: str
    kind: str
    tab: bool = False
    """True for the pages of the bottom bar."""
    icon: str = ""
    label: str = ""

    def load(self) -> type:
        """Return the page's class, importing its module."""
        return getattr(importlib.import_module(self.module), self.kind)
