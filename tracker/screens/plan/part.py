"""What the parts of the plan page have in common: the page they change, and its form."""

from __future__ import annotations

from typing import Any, Protocol

from tracker.domain.loom import Loom
from tracker.domain.rug import RugBook
from tracker.presenters.plan.form import PlanForm
from tracker.widgets.forms import FormColumn


class Planning(Protocol):
    """The page, as its parts see it."""

    form: PlanForm | None
    book: RugBook | None
    shell: Any
    desk: Any
    yarn_id: str
    looms: tuple[Loom, ...]

    def change(self, form: PlanForm) -> None:
        """Take a changed form, keep it beside the book, and show it."""

    def keep(self, form: PlanForm) -> None:
        """Take a changed form and keep it beside the book, while another page is shown."""

    def show(self) -> None:
        """Show the form as it is."""

    def open(self, part: str) -> None:
        """Open one part."""

    def open_yarn(self, yarn_id: str) -> None:
        """Open one yarn."""

    def back(self) -> bool:
        """Close what is open."""


class Part:
    """One part of the plan form: lays out its questions and asks them."""

    more = False
    """True while what is seldom asked is shown."""

    def __init__(self, page: Planning) -> None:
        self.page = page

    @property
    def form(self) -> PlanForm:
        """The form as it is now."""
        form = self.page.form
        assert form is not None, "a part is asked before a rug was opened"
        return form

    @property
    def book(self) -> RugBook | None:
        """The rug whose plan is changed; None for a new one."""
        return self.page.book

    @property
    def shell(self) -> Any:
        """The shell, for sheets and toasts."""
        return self.page.shell

    @property
    def desk(self) -> Any:
        """The desk."""
        return self.page.desk

    def change(self, form: PlanForm) -> None:
        """Take a changed form, keep it beside the book, and show it."""
        self.page.change(form)

    def show_more(self) -> None:
        """Show what is seldom asked."""
        self.more = True
        self.page.show()

    def fill(self, box: FormColumn, wrong: dict[str, str]) -> None:
        """Lay out the questions, each with its answer; `wrong` has a sentence for each field that is wrong."""
        raise NotImplementedError
