"""The part on the colours of the pile."""

from __future__ import annotations

from functools import partial

from tracker.domain.rug import Role
from tracker.domain.taught import TaughtUse
from tracker.presenters.plan import view
from tracker.presenters.plan.changes import add_colour
from tracker.presenters.plan.shares import level_shares, share_trouble
from tracker.presenters.plan.taught_use import use_offered, use_words, with_use
from tracker.screens.plan.yarn_asking import AskingYarn
from tracker.sheets.shades import ask_shade
from tracker.widgets.forms import FormColumn
from tracker.words import _


class ColoursPart(AskingYarn):
    """The colours with their shares or knots, and what is the same for all of them."""

    def fill(self, box: FormColumn, wrong: dict[str, str]) -> None:
        form = self.form
        if form.cartoon is None:
            box.note(_("Add each colour by its shade. All share evenly until you give a share."))
        else:
            box.note(_("Counted from the cartoon. Tap a colour to name it, or to knot it in another yarn."))
        self.fill_yarns(box, Role.PILE, wrong)
        trouble = share_trouble(form)
        if trouble:
            box.warn(trouble)
            box.key(_("Make them 100 %"), lambda: self.change(level_shares(self.form)), icon="measure")
        if form.cartoon is None:
            box.key(_("Add a colour"), self.add_colour, icon="plus")
        box.heading(_("The same for all colours"))
        pile = form.of(Role.PILE)
        if not pile:
            return
        counts = {yarn.count for yarn in pile}
        use = use_offered(form, self.page.desk.taught_use(form.rug_id), self.book)
        if use is not None:
            box.note(use_words(use), tone="ink", style="body")
            box.key(_("Count with that use"), partial(self.take_use, use), icon="check")
        line = view.count_line(form, pile[0])
        if len(counts) > 1:
            line = view.Line(
                _("Fineness (yarn count)"),
                _("differs"),
                _("Each colour has its own value. An answer here applies to all."),
            )
        box.field(line, lambda: self.ask_count(None, Role.PILE))
        for name, title in (("unit_mass_g", _("On one ball")), ("dyer", _("Dyer"))):
            values = {getattr(yarn, name) for yarn in pile}
            line = view.yarn_lines(form, pile[0], {})[name]
            if len(values) > 1:
                line = view.Line(title, _("differs"))
            box.field(line, partial(self.ask_of_yarn, name, None, Role.PILE))

    def take_use(self, use: TaughtUse) -> None:
        """Count the pile as an earlier rug used it, with a way back."""
        before = self.form
        self.change(with_use(before, use))
        self.shell.toast(
            _("The pile is counted as on {rug}.").format(rug=use.rug_name), undo=lambda: self.change(before)
        )

    def add_colour(self) -> None:
        """Ask for the shade of one more colour."""

        def take(name: str, colour: str) -> None:
            self.shell.try_act(lambda: self.change(add_colour(self.form, name, colour)))

        ask_shade(self.shell, _("Which shade?"), "#9B2F25", take)
