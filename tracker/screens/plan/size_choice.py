"""The ways out when a cartoon does not agree with the size wished for."""

from __future__ import annotations

from functools import partial

from tracker.domain.layout import SizeChoice, SizeWay
from tracker.presenters.plan.size import choose_size, size_check
from tracker.screens.plan.cartoon import ChosenCartoon
from tracker.screens.plan.part import Part, Planning
from tracker.shell.page import there
from tracker.widgets.forms import FormColumn
from tracker.words import _


class AskingSize(Part):
    """A part that shows how cartoon and wished size disagree."""

    def __init__(self, page: Planning, cartoon: ChosenCartoon) -> None:
        super().__init__(page)
        self.cartoon = cartoon

    def fill_size_choice(self, box: FormColumn) -> None:
        """Say how they disagree, with a key for each way out."""
        check = size_check(self.form)
        if check is None:
            return
        box.warn(check.sentence)
        for choice in check.choices:
            if choice.way is SizeWay.REDRAW:
                box.note(_("Or: {what}").format(what=choice.sentence))
            elif choice.way in (SizeWay.MIRROR, SizeWay.REPEAT) and not there(self.form.cartoon).file:
                continue
            else:
                box.key(choice.sentence, partial(self.choose_size, choice))
        box.note(_("Until you choose, the density is kept."))

    def choose_size(self, choice: SizeChoice) -> None:
        """Take one way out of a disagreement between cartoon and size."""
        if choice.way in (SizeWay.MIRROR, SizeWay.REPEAT):
            self.cartoon.relay(
                given=choice.given.value, times_across=choice.times_across, times_along=choice.times_along
            )
        else:
            self.change(choose_size(self.form, choice))
