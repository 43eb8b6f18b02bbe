"""The part on the rug's name and its cartoon."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from kivy.metrics import dp

from tracker.device.camera import has_camera
from tracker.domain.cartoon import CartoonPicture
from tracker.domain.errors import BadEntry
from tracker.domain.layout import Given
from tracker.domain.rug import Role
from tracker.presenters.picture import chosen_cartoon, planned_plain
from tracker.presenters.plan import view
from tracker.presenters.plan.checks import MOST_NAME
from tracker.presenters.plan.form import CartoonForm
from tracker.presenters.plan.shares import knots_of
from tracker.screens.plan.cartoon import PARTS
from tracker.screens.plan.size_choice import AskingSize
from tracker.sheets.asking import ask_choice, ask_number, ask_text
from tracker.sheets.files import CARTOON_ENDINGS, ask_picture
from tracker.sheets.photograph import ask_photograph, take_photograph
from tracker.shell.page import there
from tracker.widgets.basics import Across, Column, Swatch, Text
from tracker.widgets.forms import FormColumn
from tracker.widgets.look import look
from tracker.widgets.rug_picture import RugPicture
from tracker.words import _, n_, number


def given_words() -> tuple[tuple[str, str], ...]:
    """Return (words, part) of what a picture can show."""
    return (
        (_("the whole rug"), Given.FULL.value),
        (_("its left half"), Given.LEFT_HALF.value),
        (_("its right half"), Given.RIGHT_HALF.value),
        (_("its bottom half"), Given.BOTTOM_HALF.value),
        (_("its top half"), Given.TOP_HALF.value),
        (_("the quarter at the bottom left"), Given.BOTTOM_LEFT.value),
        (_("the quarter at the bottom right"), Given.BOTTOM_RIGHT.value),
        (_("the quarter at the top left"), Given.TOP_LEFT.value),
        (_("the quarter at the top right"), Given.TOP_RIGHT.value),
    )


ACROSS_PARTS = {given.value for given in Given if "left" in given.value or "right" in given.value}
ALONG_PARTS = {given.value for given in Given if "top" in given.value or "bottom" in given.value}


class RugPart(AskingSize):
    """The name, and the cartoon: chosen, looked at, laid out."""

    def fill(self, box: FormColumn, wrong: dict[str, str]) -> None:
        form = self.form
        if form.new and form.cartoon is None and look.shape == "tall" and look.text_scale < 1.5:
            box.note(view.starting_words())
        box.field(
            view.Line(_("Name"), form.name or _("no name yet"), trouble=wrong.get("name", "")), self.ask_name
        )
        box.heading(_("Cartoon"))
        if self.cartoon.reading:
            box.note(self.cartoon.reading, tone="ink", style="body")
        if self.cartoon.trouble:
            box.warn(self.cartoon.trouble)
        if self.cartoon.preview is not None:
            self._fill_preview(box, self.cartoon.preview[1])
            return
        cartoon = form.cartoon
        if cartoon is None:
            box.note(
                _(
                    "A photograph, a scan, or a picture with one pixel for each knot. It sets knots "
                    "and rows and counts every colour. Without one, give each colour's share."
                )
            )
            if has_camera():
                box.key(_("Photograph the cartoon"), self.photograph_cartoon, icon="photo")
            box.key(_("Choose a cartoon"), self.choose_cartoon, icon="photo")
            self._add_plain(box)
            return
        self._add_picture(box, self.cartoon.picture)
        box.note(
            n_(
                "{name}: {knots} knots across, {rows} rows, {colours} colour",
                "{name}: {knots} knots across, {rows} rows, {colours} colours",
                len(cartoon.shades),
            ).format(
                name=cartoon.name or _("Cartoon"),
                knots=number(cartoon.knots),
                rows=number(cartoon.rows),
                colours=number(len(cartoon.shades)),
            ),
            tone="ink",
            style="body",
        )
        self.fill_size_choice(box)
        rug = self.desk.rug
        if not cartoon.file and rug is not None and rug.plan.id == form.rug_id:
            box.key(_("Mend the cartoon"), lambda: self.shell.go("mending"), icon="edit")
        elif cartoon.file and not any(getattr(cartoon, part) for part in PARTS) and not self.cartoon.reading:
            # Of a cartoon made of several pictures none of them alone is what is woven: it is mended once it is saved.
            box.key(_("Mend the cartoon"), self.cartoon.mend, icon="edit")
        if has_camera():
            box.key(_("Photograph it again"), self.photograph_cartoon, icon="photo")
        box.key(_("Choose another picture"), self.choose_cartoon, icon="photo")
        box.key(_("Go without a cartoon"), self.cartoon.drop, icon="close")
        if not cartoon.file:
            return
        box.heading(_("How it is laid out"))
        shows = {part: words for words, part in given_words()}
        box.field(view.Line(_("The picture shows"), shows[cartoon.given]), self.ask_given)
        if cartoon.given in ACROSS_PARTS:
            self._switch(box, _("Middle column stands once"), cartoon.shared_column, "shared_column")
        if cartoon.given in ALONG_PARTS:
            self._switch(box, _("Middle row stands once"), cartoon.shared_row, "shared_row")
        box.pair(
            (
                view.Line(_("Repeated across"), _times(cartoon.times_across)),
                lambda: self.ask_times("times_across", _("Repeated across")),
            ),
            (
                view.Line(_("Repeated along"), _times(cartoon.times_along)),
                lambda: self.ask_times("times_along", _("Repeated along")),
            ),
        )
        box.field(
            view.Line(
                _("Field laid into it"),
                _("chosen") if cartoon.field_file else _("none"),
                _("If this picture is only the border of the whole rug."),
            ),
            lambda: self.ask_part("field_file", _("Picture of the field")),
        )
        box.field(
            view.Line(
                _("Border around it"),
                self._border_words(cartoon),
                _("Two pictures: one repeat of the bottom border, and its bottom left corner."),
            ),
            self.ask_border,
        )

    @staticmethod
    def _border_words(cartoon: CartoonForm) -> str:
        if cartoon.strip_file and cartoon.corner_file:
            return _("chosen")
        if cartoon.strip_file or cartoon.corner_file:
            return _("one picture is missing")
        return _("none")

    def _switch(self, box: FormColumn, words: str, on: bool, option: str) -> None:
        box.chips(
            ((words, True),),
            lambda _value: on,
            lambda _value: self.cartoon.relay(**{option: not on}),
            several=True,
        )

    def _add_plain(self, box: FormColumn) -> None:
        """Show what is planned so far: the rug's proportions, and its colours as much of it as each is knotted."""
        form = self.form
        pile = form.of(Role.PILE)
        shown = RugPicture(size_hint_y=None, height=dp(200) if look.shape != "wide" else dp(150), marker=0)
        shown.aspect = max(0.2, min(5.0, form.width_cm / max(1.0, form.length_cm)))
        shown.picture = planned_plain(
            [yarn.swatch for yarn in pile], [knots_of(form, yarn) for yarn in pile] or [1.0], shown.aspect
        )
        box.add_widget(Column(padding=(0, look.gap, 0, 0)))
        box.add_widget(shown)

    def _add_picture(self, box: FormColumn, picture: CartoonPicture | None) -> None:
        if picture is None:
            return
        shown = RugPicture(size_hint_y=None, height=dp(200) if look.shape != "wide" else dp(150))
        form = self.form
        swatches = {shade: yarn.swatch for yarn in form.of(Role.PILE) for shade in yarn.shades}
        shown.aspect = max(
            0.2, min(5.0, (picture.knots_across / form.knots_per_10cm) / (picture.rows / form.rows_per_10cm))
        )
        shown.picture = chosen_cartoon(picture, swatches)
        box.add_widget(shown)

    def _fill_preview(self, box: FormColumn, seen: Any) -> None:
        merged = seen.merged
        self._add_picture(box, merged.picture)
        box.note(merged.sentence, tone="ink", style="body")
        for entry in merged.merged[:20]:
            line = Across()
            line.add_widget(Swatch(colour=entry.shade, pos_hint={"center_y": 0.5}))
            line.add_widget(
                Text(
                    text=_("becomes"), style="small", tone="soft", size_hint_x=None, width=dp(64) * look.text_scale,
                    halign="center", pos_hint={"center_y": 0.5},
                )
            )  # fmt: skip
            line.add_widget(Swatch(colour=entry.into, pos_hint={"center_y": 0.5}))
            line.add_widget(
                Text(
                    text=n_("{count} knot", "{count} knots", entry.knots).format(count=number(entry.knots)),
                    halign="right",
                    pos_hint={"center_y": 0.5},
                )
            )
            box.add_widget(line)
        more = len(merged.merged) - 20
        if more > 0:
            box.note(n_("and {count} more shade", "and {count} more shades", more).format(count=number(more)))
        box.key(_("Merge these shades"), lambda: self.cartoon.take_preview(True), icon="check", role="act")
        if seen.clean is not None:
            box.key(
                n_("Keep all {count} colour", "Keep all {count} colours", len(seen.clean.palette)).format(
                    count=number(len(seen.clean.palette))
                ),
                lambda: self.cartoon.take_preview(False),
            )
        box.key(_("Leave this picture"), self.cartoon.leave_preview, icon="close", role="quiet")

    def ask_name(self) -> None:
        """Ask for the rug's name."""

        def take(name: str) -> None:
            if not name:
                raise BadEntry(_("Give the rug a name."))
            self.change(replace(self.form, name=name))

        ask_text(self.shell, _("Name of the rug"), self.form.name, take, most=MOST_NAME)

    def choose_cartoon(self) -> None:
        """Ask which of the files is the picture of the cartoon."""
        ask_picture(self.shell, _("Which picture?"), self.cartoon.look_at, endings=CARTOON_ENDINGS)

    def photograph_cartoon(self) -> None:
        """Take a picture of the cartoon with the camera."""
        take_photograph(self.shell, self.cartoon.look_at, self.choose_cartoon)

    def ask_given(self) -> None:
        """Ask what part of the rug the picture shows."""
        ask_choice(
            self.shell,
            _("The picture shows"),
            given_words(),
            lambda given: self.cartoon.relay(given=given, shared_column=False, shared_row=False),
            there(self.form.cartoon).given,
        )

    def ask_times(self, option: str, title: str) -> None:
        """Ask how often the picture is repeated."""
        ask_number(
            self.shell, title, getattr(self.form.cartoon, option), lambda times: self.cartoon.relay(**{option: times}),
            unit=_("times"), least=1, most=500,
        )  # fmt: skip

    def ask_part(self, option: str, title: str) -> None:
        """Ask for another picture of the cartoon; tapping one that is chosen leaves it out again."""
        if getattr(self.form.cartoon, option):
            self.cartoon.relay(**{option: ""})
            return

        ask_photograph(
            self.shell, title, lambda path: self.cartoon.look_at_part(path, option), CARTOON_ENDINGS
        )

    def ask_border(self) -> None:
        """Ask for the two pictures of a border; when both are there, leave the border out again."""
        cartoon = there(self.form.cartoon)
        if cartoon.strip_file and cartoon.corner_file:
            self.cartoon.relay(strip_file="", corner_file="")
        elif not cartoon.strip_file:
            self.ask_part("strip_file", _("One repeat of the bottom border"))
        else:
            self.ask_part("corner_file", _("Bottom left corner of the border"))


def _times(count: int) -> str:
    return n_("once", "{count} times", count).format(count=number(count))
