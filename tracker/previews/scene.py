"""One state of the app worth drawing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from tracker.screens import PAGES


@dataclass(frozen=True, slots=True)
class Scene:
    """One state of the app worth drawing: a page, what it is told, and what is tapped first."""

    name: str
    page: str
    what: dict[str, Any]
    then: Callable[[Any], object] | None = None

    def show(self, shell: Any, drafts: dict[str, Any]) -> None:
        """Bring the shell into this scene, which begins with these drafts and nothing another scene left half-filled."""
        shell.dismiss_toast()
        # First home: a page that is left keeps its form.
        shell.open_tab("home")
        shell.desk.drafts.put_back(drafts)
        if PAGES[self.page].tab:
            shell.open_tab(self.page, **self.what)
        else:
            shell.go(self.page, **self.what)
        if self.then:
            self.then(shell.page)
