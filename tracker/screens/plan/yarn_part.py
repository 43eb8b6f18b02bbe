"""One yarn of the plan, opened."""

from __future__ import annotations

from functools import partial

from tracker.domain.errors import BadEntry
from tracker.domain.rug import Role
from tracker.presenters.plan import view
from tracker.presenters.plan.changes import move_shade, remove_yarn, set_share, with_yarn
from tracker.presenters.plan.form import YarnForm
from tracker.presenters.plan.shares import knots_of
from tracker.presenters.shades import shade_name
from tracker.screens.plan.yarn_asking import AskingYarn
from tracker.sheets.asking import ask_choice, ask_number, ask_text
from tracker.sheets.shades import ask_shade
from tracker.widgets.forms import CardKey, FormColumn
from tracker.widgets.look import look
from tracker.words import _, n_, number


class YarnPart(AskingYarn):
    """Everything asked of one yarn; what is seldom asked only on request."""

    def fill_yarn(self, box: FormColumn, yarn: YarnForm, wrong: dict[str, str]) -> None:
        """Lay out what is asked of one yarn."""
        form, role = self.form, Role(yarn.role)
        lines = view.yarn_lines(form, yarn, wrong)
        if look.shape != "tall":
            key = box.key(
                _("All colours") if role is Role.PILE else _("Wefts, warp and loom"),
                self.page.back,
                icon="left",
                role="quiet",
            )
            key.halign = "left"
        shade = CardKey(
            _("Shade"),
            shade_name(yarn.swatch),
            swatch=(yarn.swatch, ""),
            pile=role is Role.PILE,
            end_icon="edit",
        )
        shade.bind(on_release=lambda _card: self.ask_swatch(yarn))
        box.add_widget(shade)
        box.field(lines["name"], lambda: self.ask_yarn_name(yarn))
        if role is Role.PILE:
            self._fill_share(box, yarn, lines["share"])
        box.field(lines["count"], lambda: self.ask_count(yarn.id, role))
        if role is Role.WEFT:
            box.field(lines["passes"], lambda: self.ask_of_yarn("passes", yarn.id, role))
        if role in (Role.OVERCAST, Role.FRINGE):
            box.field(lines["per_cm"], lambda: self.ask_of_yarn("per_cm", yarn.id, role))
        if role in (Role.CORD, Role.FRINGE):
            box.field(lines["pieces"], lambda: self.ask_of_yarn("pieces", yarn.id, role))
        box.field(lines["unit_mass_g"], lambda: self.ask_of_yarn("unit_mass_g", yarn.id, role))
        if not self.more:
            box.key(_("Dyer, price, skeins and more"), self.show_more, icon="down")
        else:
            box.heading(_("Buying"))
            names = ["dyer", "price_per_kg", "lead_days", "margin_percent", "skein_g", "least_g"]
            if role is Role.PILE:
                names += ["cut_length_mm", "pile_g_per_m2"]
            elif role in (Role.WEFT, Role.WARP, Role.CORD):
                names += ["take_up_percent"]
            names += ["twist_percent"] if view.asks_twist(yarn) else []
            for name in names[:6]:
                box.field(lines[name], partial(self.ask_of_yarn, name, yarn.id, role))
            if names[6:]:
                box.heading(_("What you measured"))
            for name in names[6:]:
                box.field(lines[name], partial(self.ask_of_yarn, name, yarn.id, role))
            box.field(lines["fibre"], lambda: self.ask_fibre(yarn))
        box.key(_("Remove this yarn"), lambda: self.remove(yarn), icon="withdraw", role="quiet")

    def _fill_share(self, box: FormColumn, yarn: YarnForm, line: view.Line) -> None:
        form = self.form
        if form.cartoon is None:
            box.field(line, lambda: self.ask_share(yarn))
            return
        box.note(
            n_(
                "{knots} knot in the cartoon",
                "{knots} knots in the cartoon",
                round(knots_of(form, yarn)),
            ).format(knots=number(knots_of(form, yarn))),
            tone="ink",
            style="body",
        )
        knots = dict(form.cartoon.shades)
        for shade in yarn.shades:
            card = CardKey(
                _("Cartoon colour"),
                _("{knots} knots").format(knots=number(knots.get(shade, 0))),
                _("Tap to knot it in another yarn."),
                swatch=(shade, ""),
                pile=True,
            )
            card.bind(on_release=lambda _card, shade=shade: self.ask_yarn_of(shade, yarn))
            box.add_widget(card)

    def ask_yarn_of(self, shade: str, yarn: YarnForm) -> None:
        """Ask in which yarn a colour of the cartoon is knotted."""

        def take(yarn_id: object) -> None:
            self.change(move_shade(self.form, shade, str(yarn_id)))

        ask_choice(
            self.shell,
            _("Knotted in"),
            tuple((other.name, other.id) for other in self.form.of(Role.PILE)),
            take,
            yarn.id,
        )

    def ask_swatch(self, yarn: YarnForm) -> None:
        """Ask for the yarn's shade; the name stays."""
        ask_shade(
            self.shell, _("Shade of {name}").format(name=yarn.name), yarn.swatch,
            lambda _name, colour: self.change(with_yarn(self.form, yarn.id, swatch=colour)),
        )  # fmt: skip

    def ask_yarn_name(self, yarn: YarnForm) -> None:
        """Ask for a yarn's name."""

        def take(name: str) -> None:
            if not name:
                raise BadEntry(_("Give it a name."))
            self.change(with_yarn(self.form, yarn.id, name=name))

        ask_text(self.shell, _("Name of the yarn"), yarn.name, take, most=60)

    def ask_share(self, yarn: YarnForm) -> None:
        """Ask for a colour's share; left empty it takes an even part."""
        ask_number(
            self.shell, _("Share of {name}").format(name=yarn.name), yarn.share,
            lambda share: self.change(set_share(self.form, yarn.id, share)),
            unit="%", decimals=1, most=100, optional=True,
        )  # fmt: skip

    def ask_fibre(self, yarn: YarnForm) -> None:
        """Ask of what a yarn is spun."""
        ask_choice(
            self.shell, _("Fibre"), view.fibres(),
            lambda fibre: self.change(with_yarn(self.form, yarn.id, fibre=fibre)), yarn.fibre,
        )  # fmt: skip

    def remove(self, yarn: YarnForm) -> None:
        """Take a yarn out of the plan, with a way back."""
        before = self.form

        def work() -> None:
            after = remove_yarn(before, yarn.id, self.book)
            self.page.yarn_id = ""
            self.change(after)
            self.shell.toast(
                _("{name} is out of the plan.").format(name=yarn.name), undo=lambda: self.change(before)
            )

        self.shell.try_act(work)
