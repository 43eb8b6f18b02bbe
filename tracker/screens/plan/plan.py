"""Plan a rug, or change a plan: a card for each part, one part open at a time, everything assumed until it is said."""

from __future__ import annotations

import re
import threading
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

from kivy.metrics import dp
from kivy.properties import StringProperty

from tracker.domain.cartoon import CartoonPicture
from tracker.domain.errors import BadEntry, BadPicture, LoomsideError
from tracker.domain.layout import Given, SizeChoice, SizeWay
from tracker.domain.rug import KnotKind, Role, RugBook, new_id
from tracker.domain.units import (
    MOST_PER_10CM,
    DensityUnit,
    LengthUnit,
    check_density,
    from_cm,
    from_per_10cm,
    to_cm,
    to_per_10cm,
)
from tracker.domain.yarn import EXAMPLES, parse_fineness
from tracker.files.regular import copy_regular
from tracker.pictures.limits import MAX_CARTOON_FILE_BYTES
from tracker.presenters import plan as sums
from tracker.presenters import plan_view as view
from tracker.presenters.picture import chosen_cartoon
from tracker.presenters.plan import CartoonForm, PlanForm, YarnForm
from tracker.presenters.settings import build_settings_state
from tracker.sheets.asking import ask_choice, ask_day, ask_number, ask_text
from tracker.sheets.files import ask_picture
from tracker.sheets.shades import ask_shade
from tracker.shell.page import Page
from tracker.shell.undo import undoable
from tracker.widgets.basics import Across, Key, Stepper, Swatch, Text, load_kv
from tracker.widgets.forms import CardKey, FormColumn
from tracker.widgets.look import look
from tracker.widgets.rug_picture import RugPicture
from tracker.words import _, n_, number

DRAFTS = "plan forms"
_COPY_NAME = re.compile(r"[0-9a-f]{32}(\.[^.]{0,7})?")
"""The names this page gives to copies of pictures; it removes no other file."""
"""Where half-filled plans are kept: by the rug's id, "" for a new one."""
NEW = ""


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


class PlanPage(Page):
    """The plan form."""

    heading = StringProperty("")
    part = StringProperty("")
    """The open part; "" shows the cards alone on an upright phone."""
    yarn_id = StringProperty("")
    """The open yarn of the part on colours or on the foundation."""
    summary = StringProperty("")
    forward = StringProperty("")
    forward_icon = StringProperty("check")

    form: PlanForm | None = None
    book: RugBook | None = None

    def __init__(self, **kwargs) -> None:
        super().__init__(**kwargs)
        # Held here: kv keeps only weak references to a pane that is off the page.
        self._panes = (self.ids.overview_scroll.__self__, self.ids.detail_scroll.__self__)
        self._boxes = (self.ids.overview.__self__, self.ids.detail.__self__)
        self._picture: CartoonPicture | None = None
        self._preview: Any = None
        self._cartoon_trouble = ""
        self._reading = ""
        self._visit = 0
        self._tried = False
        self._more = False
        self._restored = False
        self._open = ("", "")
        look.bind(shape=self._relaid)

    # --- coming and going

    def _relaid(self, *_args) -> None:
        self.show()

    def enter(self, rug_id: str | None = None, **_what) -> None:
        desk = self.desk
        self._visit += 1
        self.part = self.yarn_id = ""
        self._preview, self._cartoon_trouble, self._reading = None, "", ""
        self._tried = self._more = False
        self._picture = None
        self.book = None
        if rug_id is not None:
            if desk.rug is not None and desk.rug.plan.id == rug_id:
                self.book = desk.rug
            else:
                self.shell.try_act(lambda: setattr(self, "book", desk.rug_book(rug_id)))
        self._draft = NEW if self.book is None else rug_id or NEW
        kept = sums.from_kept((desk.drafts.get(DRAFTS) or {}).get(self._draft))
        self._restored = kept is not None
        self.form = kept or self._fresh()
        self._tidy()
        if self.form.cartoon is not None and self.form.cartoon.file:
            self._lay_out(self.form.cartoon, None)
        elif self.form.cartoon is not None and self.book is not None and self.book.cartoon is not None:
            cartoon = self.book.cartoon
            self._picture = CartoonPicture(
                cells=cartoon.cells, palette=cartoon.palette, name=cartoon.source_name
            )
        self._panes[0].scroll_y = 1

    def _fresh(self) -> PlanForm:
        chosen = build_settings_state(self.desk.drafts, self.desk.settings)
        if self.book is not None:
            return sums.form_of(self.book, chosen.unit)
        return sums.blank_form(self.desk.today(), len(self.desk.plans), chosen.unit, chosen.lead_days)

    def back(self) -> bool:
        if self.yarn_id:
            self.yarn_id = ""
        elif self.part and look.shape == "tall":
            self.part = ""
        else:
            return False
        self.show()
        return True

    def refresh(self) -> None:
        rug = self.desk.rug
        if self.book is not None and rug is not None and rug.plan.id == self.book.plan.id:
            self.book = rug
        self.show()

    # --- keeping

    def change(self, form: PlanForm) -> None:
        """Take a changed form, keep it beside the book, and show it."""
        self.form = form
        self._keep(form)
        self.show()

    def _keep(self, form: PlanForm | None) -> None:
        kept = dict(self.desk.drafts.get(DRAFTS) or {})
        if form is None:
            kept.pop(self._draft, None)
        else:
            kept[self._draft] = sums.to_kept(form)
        self.desk.drafts.put(DRAFTS, kept or None)

    @property
    def folder(self) -> Path:
        """Where copies of chosen pictures lie until the plan is saved."""
        return self.desk.path.with_name(self.desk.path.name + ".drafts")

    def _tidy(self) -> None:
        """Remove copies of pictures that no draft needs."""
        if not self.desk.drafts.lasting:
            return
        needed: set[str] = set()
        for kept in (self.desk.drafts.get(DRAFTS) or {}).values():
            form = sums.from_kept(kept)
            needed |= sums.files_of(form) if form is not None else set()
        try:
            for path in self.folder.iterdir():
                if path.name not in needed and _COPY_NAME.fullmatch(path.name):
                    path.unlink()
        except OSError:
            # A copy that stays is only a little room lost.
            pass

    def start_over(self) -> None:
        """Forget the draft, with a way back."""
        kept, part = self.form, self.part
        picture = self._picture
        self._visit += 1
        self._reading = ""
        self._keep(None)
        self.form, self._picture, self._preview = self._fresh(), None, None
        if self.form.cartoon is not None and self.book is not None and self.book.cartoon is not None:
            cartoon = self.book.cartoon
            self._picture = CartoonPicture(
                cells=cartoon.cells, palette=cartoon.palette, name=cartoon.source_name
            )
        self._restored = self._tried = False
        self.part = self.yarn_id = ""
        self.show()

        def undo() -> None:
            self._picture, self.part = picture, part
            self.change(kept)

        self.shell.toast(_("The form is as at the start."), undo=undo)

    # --- showing

    def show(self) -> None:
        """Show the form as it is."""
        form = self.form
        if form is None:
            return
        wide = look.shape != "tall"
        wrong = sums.troubles(form, self.book)
        shown = wrong if self._tried else {key: words for key, words in wrong.items() if key not in ("name",)}
        parts = view.overview(form, self.book, shown)
        open_part = self.part or ("rug" if wide else "")
        title = _("Plan a rug") if form.new else _("Change the plan")
        self.heading = title if wide or not open_part else view.part_title(open_part)
        yarn = form.yarn(self.yarn_id) if self.yarn_id else None
        if yarn is not None and not wide:
            self.heading = yarn.name
        self._show_panes(wide, open_part)
        self._fill_overview(parts, open_part if wide else "")
        detail = self._boxes[1]
        detail.clear_widgets()
        if open_part:
            if yarn is not None:
                self._fill_yarn(detail, yarn, shown)
            else:
                getattr(self, f"_fill_{open_part}")(detail, shown)
        if self._open != (open_part, self.yarn_id):
            self._open = (open_part, self.yarn_id)
            self._panes[1].scroll_y = 1
        # Large type needs the room for what is asked.
        self.summary = "" if open_part and look.text_scale >= 1.5 else view.summary(form)
        self._show_forward(open_part, wide)

    def _show_panes(self, wide: bool, open_part: str) -> None:
        """Put the cards, the open part, or both on the page."""
        overview, detail = self._panes
        wanted = [overview, detail] if wide else [detail] if open_part else [overview]
        panes = self.ids.panes
        if list(reversed(panes.children)) != wanted:
            panes.clear_widgets()
            for pane in wanted:
                panes.add_widget(pane)

    def _draft_there(self) -> bool:
        return self._draft in (self.desk.drafts.get(DRAFTS) or {})

    def _show_forward(self, open_part: str, wide: bool) -> None:
        following = self._following(open_part)
        if wide or not open_part or not following:
            self.forward, self.forward_icon = (_("Save the plan"), "check")
        elif self.yarn_id:
            self.forward, self.forward_icon = _("Done"), "check"
        else:
            self.forward, self.forward_icon = (
                _("Next: {part}").format(part=view.part_title(following)),
                "right",
            )

    @staticmethod
    def _following(part: str) -> str:
        at = view.PARTS.index(part) + 1 if part else len(view.PARTS)
        return view.PARTS[at] if at < len(view.PARTS) else ""

    def go_forward(self) -> None:
        """Open the next part, or save."""
        if look.shape == "tall" and self.yarn_id:
            self.back()
        elif look.shape == "tall" and self.part and self._following(self.part):
            self.open(self._following(self.part))
        else:
            self.save()

    def open(self, part: str) -> None:
        """Open one part."""
        self.part, self.yarn_id, self._more = part, "", False
        self.show()

    def open_yarn(self, yarn_id: str) -> None:
        """Open one yarn."""
        self.yarn_id, self._more = yarn_id, False
        self.show()

    def _fill_overview(self, parts: tuple[view.Part, ...], open_part: str) -> None:
        box = self._boxes[0]
        box.clear_widgets()
        if self._restored:
            note = Text(text=_("Your half-filled plan, as you left it."), style="small", tone="soft")
            box.add_widget(note)
        elif self.form.new and not open_part:
            box.add_widget(
                Text(
                    text=_("Everything has a starting value. Change what you know, leave the rest."),
                    tone="soft",
                )
            )
        for part in parts:
            card = CardKey(
                part.title, part.answer, part.note, part.trouble, icon=part.icon, swatches=part.swatches,
                chosen=part.key == open_part,
            )  # fmt: skip
            card.bind(on_release=lambda _card, key=part.key: self.open(key))
            box.add_widget(card)
        rug = self.desk.rug
        if self.book is not None and rug is not None and rug.plan.id == self.book.plan.id:
            material = Key(text=_("What the rug needs"), icon="ball")
            material.bind(on_release=lambda _key: self.shell.go("material"))
            box.add_widget(material)
        if self._draft_there():
            again = Key(text=_("Start over"), icon="restore", role="quiet")
            again.bind(on_release=lambda _key: self.start_over())
            box.add_widget(again)

    # --- the rug: name and cartoon

    def _fill_rug(self, box: FormColumn, wrong: dict[str, str]) -> None:
        form = self.form
        box.field(
            view.Line(_("Name"), form.name or _("no name yet"), trouble=wrong.get("name", "")), self.ask_name
        )
        box.heading(_("Cartoon"))
        if self._reading:
            box.note(self._reading, tone="ink", style="body")
        if self._cartoon_trouble:
            box.warn(self._cartoon_trouble)
        if self._preview is not None:
            self._fill_preview(box)
            return
        cartoon = form.cartoon
        if cartoon is None:
            box.note(
                _(
                    "A picture with one point for each knot (PNG, GIF or BMP). It fixes knots and rows, and counts "
                    "every colour. Without one you give each colour's share."
                )
            )
            box.key(_("Choose a cartoon"), self.choose_cartoon, icon="photo")
            return
        self._add_picture(box, self._picture)
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
        self._fill_size_choice(box)
        box.key(_("Choose another picture"), self.choose_cartoon, icon="photo")
        box.key(_("Go without a cartoon"), self.drop_cartoon, icon="close")
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
        box.chips(((words, True),), lambda _value: on, lambda _value: self._relay(**{option: not on}))

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

    def _fill_preview(self, box: FormColumn) -> None:
        found = self._preview[1]
        merged = found.merged
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
        box.key(_("Merge these shades"), lambda: self._take_preview(True), icon="check", role="act")
        if found.clean is not None:
            box.key(
                n_("Keep all {count} colour", "Keep all {count} colours", len(found.clean.palette)).format(
                    count=number(len(found.clean.palette))
                ),
                lambda: self._take_preview(False),
            )
        box.key(_("Leave this picture"), self._leave_preview, icon="close", role="quiet")

    def ask_name(self) -> None:
        """Ask for the rug's name."""

        def take(name: str) -> None:
            if not name:
                raise BadEntry(_("Give the rug a name."))
            self.change(replace(self.form, name=name))

        ask_text(self.shell, _("Name of the rug"), self.form.name, take, most=sums.MOST_NAME)

    # --- the cartoon's pictures

    def _work(self, words: str, job: Callable[[], Any], done: Callable[[Any], None]) -> None:
        """Do a job off the touch thread; a sentence that it raises is shown at the cartoon."""
        self._reading, self._cartoon_trouble = words, ""
        background = self.desk.background
        visit = self._visit

        def finish(result: Any, sentence: str) -> None:
            if visit != self._visit:
                # Another rug's form is open by now, or this one was begun anew.
                return
            self._reading, self._cartoon_trouble = "", sentence
            if not sentence:
                done(result)
            self.show()

        def work() -> None:
            try:
                result, sentence = job(), ""
            except LoomsideError as trouble:
                result, sentence = None, trouble.sentence
            except MemoryError:
                result, sentence = None, _("The picture is too large for this phone. Choose a smaller one.")
            if background:
                self.desk.post(lambda: finish(result, sentence))
            else:
                finish(result, sentence)

        if background:
            self.show()
            threading.Thread(target=work, name="cartoon", daemon=True).start()
        else:
            work()

    def choose_cartoon(self) -> None:
        """Ask for the picture of the cartoon."""
        ask_picture(self.shell, _("Which picture?"), self.look_at)

    def look_at(self, path: Path) -> None:
        """Read a chosen picture; take it when it is clean, else show first what would be merged."""
        from tracker.pictures.assembling import look_at

        def done(found: Any) -> None:
            self._preview = (path, found)
            if not found.strays and found.clean is not None:
                self._take_preview(False)

        self._work(_("Reading the picture …"), lambda: look_at(path), done)

    def _leave_preview(self) -> None:
        self._preview = None
        self.show()

    def _take_preview(self, merge: bool) -> None:
        path, found = self._preview
        picture = found.merged.picture if merge else found.clean
        self._preview = None

        def job() -> CartoonForm:
            try:
                file = self._copy(path)
            except OSError as trouble:
                raise BadPicture(
                    _(
                        "The picture could not be copied: there may be no room left. Make room, then choose it again."
                    )
                ) from trouble
            return sums.cartoon_form(picture, file=file, merge=merge)

        self._work(_("Counting the knots …"), job, lambda cartoon: self._took(cartoon, picture))

    def _copy(self, path: Path) -> str:
        self.folder.mkdir(parents=True, exist_ok=True)
        name = new_id() + path.suffix.lower()[:8]
        copy_regular(path, self.folder / name, MAX_CARTOON_FILE_BYTES)
        return name

    def _took(self, cartoon: CartoonForm, picture: CartoonPicture) -> None:
        before, before_picture = self.form, self._picture

        def undo() -> None:
            self._picture = before_picture
            self.change(before)

        self._picture = picture
        self.change(sums.take_cartoon(before, cartoon))
        self.shell.toast(
            _("Cartoon taken: {knots} × {rows} knots.").format(
                knots=number(cartoon.knots), rows=number(cartoon.rows)
            ),
            undo=undo,
        )

    def _relay(self, **options: Any) -> None:
        """Lay the cartoon's pictures out anew with other options; when that fails nothing changes but the sentence."""
        self._lay_out(replace(self.form.cartoon, **options), self._took)

    def _lay_out(
        self, cartoon: CartoonForm, done: Callable[[CartoonForm, CartoonPicture], None] | None
    ) -> None:
        from tracker.pictures.assembling import Parts, assemble

        def part(name: str) -> Path | None:
            return self.folder / name if name else None

        parts = Parts(
            main=self.folder / cartoon.file,
            merge=cartoon.merge,
            given=Given(cartoon.given),
            shared_column=cartoon.shared_column,
            shared_row=cartoon.shared_row,
            times_across=cartoon.times_across,
            times_along=cartoon.times_along,
            field=part(cartoon.field_file),
            strip=part(cartoon.strip_file),
            corner=part(cartoon.corner_file),
        )

        def job() -> tuple[CartoonForm, CartoonPicture]:
            picture = assemble(parts)
            options = {
                name: getattr(cartoon, name)
                for name in CartoonForm.__dataclass_fields__
                if name not in ("name", "knots", "rows", "shades")
            }
            return replace(sums.cartoon_form(picture, **options), name=cartoon.name), picture

        def finish(found: tuple[CartoonForm, CartoonPicture]) -> None:
            if done is not None:
                done(*found)
            else:
                self._picture = found[1]

        self._work(_("Laying the cartoon out …"), job, finish)

    def drop_cartoon(self) -> None:
        """Go without a cartoon, with a way back."""
        before, picture = self.form, self._picture

        def undo() -> None:
            self._picture = picture
            self.change(before)

        self._picture = None
        self.change(sums.drop_cartoon(before))
        self.shell.toast(_("The cartoon is left out; its colours keep their shares."), undo=undo)

    def ask_given(self) -> None:
        """Ask what part of the rug the picture shows."""
        ask_choice(
            self.shell,
            _("The picture shows"),
            given_words(),
            lambda given: self._relay(given=given, shared_column=False, shared_row=False),
            self.form.cartoon.given,
        )

    def ask_times(self, option: str, title: str) -> None:
        """Ask how often the picture is repeated."""
        ask_number(
            self.shell, title, getattr(self.form.cartoon, option), lambda times: self._relay(**{option: times}),
            unit=_("times"), least=1, most=500,
        )  # fmt: skip

    def ask_part(self, option: str, title: str) -> None:
        """Ask for another picture of the cartoon; tapping one that is chosen leaves it out again."""
        if getattr(self.form.cartoon, option):
            self._relay(**{option: ""})
            return

        def take(path: Path) -> None:
            try:
                file = self._copy(path)
            except OSError:
                self._cartoon_trouble = _("The picture could not be copied. Choose it again.")
                self.show()
                return
            self._relay(**{option: file})

        ask_picture(self.shell, title, take)

    def ask_border(self) -> None:
        """Ask for the two pictures of a border; when both are there, leave the border out again."""
        cartoon = self.form.cartoon
        if cartoon.strip_file and cartoon.corner_file:
            self._relay(strip_file="", corner_file="")
        elif not cartoon.strip_file:
            self.ask_part("strip_file", _("One repeat of the bottom border"))
        else:
            self.ask_part("corner_file", _("Bottom left corner of the border"))

    # --- size

    def _fill_size(self, box: FormColumn, wrong: dict[str, str]) -> None:
        form = self.form
        if form.cartoon is not None:
            box.note(
                _("The cartoon has {knots} × {rows} knots; at this density that makes {size}.").format(
                    knots=number(form.cartoon.knots),
                    rows=number(form.cartoon.rows),
                    size=view.size_words(form.true_width_cm, form.true_length_cm, form.unit),
                ),
                tone="ink",
                style="body",
            )
        else:
            box.note(_("Without fringes. Tap a common size, or give your own."))
            sizes = sums.SIZES_INCH if form.unit == "inch" else sums.SIZES_CM
            unit = LengthUnit(form.unit)
            words = _("{width} × {length} in") if form.unit == "inch" else _("{width} × {length} cm")
            box.chips(
                tuple((words.format(width=size[0], length=size[1]), size) for size in sizes),
                lambda size: (
                    abs(to_cm(size[0], unit) - form.width_cm) < 0.05
                    and abs(to_cm(size[1], unit) - form.length_cm) < 0.05
                ),
                lambda size: self.change(
                    sums.set_size(form, width_cm=to_cm(size[0], unit), length_cm=to_cm(size[1], unit))
                ),
            )
        lines = view.size_lines(form, wrong)
        box.pair(
            (lines["width"], lambda: self.ask_side("width_cm", _("Width"))),
            (lines["length"], lambda: self.ask_side("length_cm", _("Length"))),
        )
        self._fill_size_choice(box)
        box.chips(
            ((_("in centimetres"), "cm"), (_("in inches"), "inch")),
            lambda unit: form.unit == unit,
            lambda unit: self.change(replace(form, unit=unit)),
        )
        box.note(view.knots_words(form), tone="ink", style="body")

    def ask_side(self, side: str, title: str) -> None:
        """Ask for the width or the length."""
        unit = LengthUnit(self.form.unit)

        def take(value: float) -> None:
            self.change(sums.set_size(self.form, **{side: to_cm(value, unit)}))

        ask_number(
            self.shell, title, round(from_cm(getattr(self.form, side), unit), 2), take,
            unit=_("in") if unit is LengthUnit.INCH else _("cm"), decimals=2,
            least=round(from_cm(sums.LEAST_SIDE_CM, unit), 1), most=round(from_cm(sums.MOST_SIDE_CM, unit)),
        )  # fmt: skip

    def _fill_size_choice(self, box: FormColumn) -> None:
        check = sums.size_check(self.form)
        if check is None:
            return
        box.warn(check.sentence)
        for choice in check.choices:
            if choice.way is SizeWay.REDRAW:
                box.note(_("Or: {what}").format(what=choice.sentence))
            elif choice.way in (SizeWay.MIRROR, SizeWay.REPEAT) and not self.form.cartoon.file:
                continue
            else:
                box.key(choice.sentence, lambda choice=choice: self.choose_size(choice))
        box.note(_("Until you choose, the density is kept."))

    def choose_size(self, choice: SizeChoice) -> None:
        """Take one way out of a disagreement between cartoon and size."""
        if choice.way in (SizeWay.MIRROR, SizeWay.REPEAT):
            self._relay(
                given=choice.given.value, times_across=choice.times_across, times_along=choice.times_along
            )
        else:
            self.change(sums.choose_size(self.form, choice))

    # --- density, knot and pile

    def _fill_cloth(self, box: FormColumn, wrong: dict[str, str]) -> None:
        form = self.form
        across, along = view.units_of(form)
        box.note(
            _("How close the knots stand. Say it in the unit you know; tap a common one, or give your own.")
        )
        box.chips(
            view.density_units(),
            lambda unit: unit == form.density_unit,
            lambda unit: self.change(replace(form, density_unit=unit)),
        )
        if across is DensityUnit.PER_10CM:
            box.chips(
                tuple((f"{each} × {each}", each) for each in sums.DENSITIES_PER_10CM),
                lambda each: form.knots_per_10cm == each == form.rows_per_10cm,
                lambda each: self.change(
                    sums.set_density(form, knots_per_10cm=float(each), rows_per_10cm=float(each))
                ),
            )
        lines = view.cloth_lines(form, wrong)
        box.pair(
            (lines["across"], lambda: self.ask_density("knots_per_10cm", lines["across"].label, across)),
            (lines["along"], lambda: self.ask_density("rows_per_10cm", lines["along"].label, along)),
        )
        box.note(_("The same in every way the trade says it:"))
        box.table(view.density_table(form))
        box.heading(_("Knot"))
        for kind in KnotKind:
            key = box.key(
                view.knot_kind_words(kind.value),
                lambda kind=kind: self.change(replace(form, knot_kind=kind.value)),
                icon="check" if form.knot_kind == kind.value else "knot",
                role="chosen" if form.knot_kind == kind.value else "plain",
            )
            key.halign = "left"
        box.field(lines["pile"], self.ask_pile)

    def ask_density(self, which: str, title: str, unit: DensityUnit) -> None:
        """Ask how close the knots or rows stand."""

        def take(count: float) -> None:
            self.change(sums.set_density(self.form, **{which: check_density(to_per_10cm(count, unit))}))

        ask_number(
            self.shell, title, round(from_per_10cm(getattr(self.form, which), unit), 2), take,
            unit=view.unit_words(unit), decimals=2, most=round(from_per_10cm(MOST_PER_10CM, unit)),
        )  # fmt: skip

    def ask_pile(self) -> None:
        """Ask how high the pile stands."""
        ask_number(
            self.shell, _("Pile height after shearing"), self.form.pile_height_mm,
            lambda value: self.change(replace(self.form, pile_height_mm=value)),
            unit=_("mm"), decimals=1, least=1, most=100,
        )  # fmt: skip

    # --- colours

    def _fill_colours(self, box: FormColumn, wrong: dict[str, str]) -> None:
        form = self.form
        if form.cartoon is None:
            box.note(_("Add each colour by its shade. All share evenly until you give a share."))
        else:
            box.note(_("Counted from the cartoon. Tap a colour to name it, or to knot it in another yarn."))
        self._yarn_list(box, Role.PILE, wrong)
        trouble = sums.share_trouble(form)
        if trouble:
            box.warn(trouble)
            box.key(
                _("Level them to 100 %"), lambda: self.change(sums.level_shares(self.form)), icon="measure"
            )
        if form.cartoon is None:
            box.key(_("Add a colour"), self.add_colour, icon="plus")
        box.heading(_("The same for all colours"))
        pile = form.of(Role.PILE)
        if not pile:
            return
        counts = {yarn.count for yarn in pile}
        line = view.count_line(form, pile[0])
        if len(counts) > 1:
            line = view.Line(
                _("Fineness"), _("differs"), _("Each colour has its own; an answer here is for all.")
            )
        box.field(line, lambda: self.ask_count(None, Role.PILE))
        for name, title in (("unit_mass_g", _("On one ball")), ("dyer", _("Dyer"))):
            values = {getattr(yarn, name) for yarn in pile}
            line = view.yarn_lines(form, pile[0], {})[name]
            if len(values) > 1:
                line = view.Line(title, _("differs"))
            box.field(line, lambda name=name: self.ask_of_yarn(name, None, Role.PILE))

    def _yarn_list(self, box: FormColumn, role: Role, wrong: dict[str, str]) -> None:
        for card in view.yarn_cards(self.form, role, wrong):
            line = CardKey(
                "", card.name, card.note, card.trouble, swatch=(card.swatch, card.number), amount=card.amount
            )
            line.bind(on_release=lambda _line, yarn_id=card.yarn_id: self.open_yarn(yarn_id))
            box.add_widget(line)

    def add_colour(self) -> None:
        """Ask for the shade of one more colour."""

        def take(name: str, colour: str) -> None:
            self.shell.try_act(lambda: self.change(sums.add_colour(self.form, name, colour)))

        ask_shade(self.shell, _("Which shade?"), "#9B2F25", take)

    # --- one yarn

    def _fill_yarn(self, box: FormColumn, yarn: YarnForm, wrong: dict[str, str]) -> None:
        form, role = self.form, Role(yarn.role)
        lines = view.yarn_lines(form, yarn, wrong)
        if look.shape != "tall":
            key = box.key(
                _("All colours") if role is Role.PILE else _("Wefts, warp and loom"),
                self.back,
                icon="left",
                role="quiet",
            )
            key.halign = "left"
        shade = CardKey(_("Shade"), yarn.name, swatch=(yarn.swatch, ""), end_icon="edit")
        shade.bind(on_release=lambda _card: self.ask_swatch(yarn))
        box.add_widget(shade)
        box.field(lines["name"], lambda: self.ask_yarn_name(yarn))
        if role is Role.PILE:
            self._fill_share(box, yarn, lines["share"])
        box.field(lines["count"], lambda: self.ask_count(yarn.id, role))
        if role is Role.WEFT:
            box.field(lines["passes"], lambda: self.ask_of_yarn("passes", yarn.id, role))
        box.field(lines["unit_mass_g"], lambda: self.ask_of_yarn("unit_mass_g", yarn.id, role))
        if not self._more:
            box.key(_("Dyer, price, skeins and more"), self.show_more, icon="down")
        else:
            box.heading(_("Buying"))
            names = ["dyer", "price_per_kg", "lead_days", "margin_percent", "skein_g", "least_g"]
            names += ["cut_length_mm", "pile_g_per_m2"] if role is Role.PILE else ["take_up_percent"]
            for name in names[:6]:
                box.field(lines[name], lambda name=name: self.ask_of_yarn(name, yarn.id, role))
            box.heading(_("What you measured"))
            for name in names[6:]:
                box.field(lines[name], lambda name=name: self.ask_of_yarn(name, yarn.id, role))
            box.field(lines["fibre"], lambda: self.ask_fibre(yarn))
        box.key(_("Remove this yarn"), lambda: self.remove(yarn), icon="withdraw", role="quiet")

    def show_more(self) -> None:
        """Show what is seldom asked."""
        self._more = True
        self.show()

    def _fill_share(self, box: FormColumn, yarn: YarnForm, line: view.Line) -> None:
        form = self.form
        if form.cartoon is None:
            box.field(line, lambda: self.ask_share(yarn))
            return
        box.note(
            n_(
                "{knots} knot in the cartoon",
                "{knots} knots in the cartoon",
                round(sums.knots_of(form, yarn)),
            ).format(knots=number(sums.knots_of(form, yarn))),
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
            )
            card.bind(on_release=lambda _card, shade=shade: self.ask_yarn_of(shade, yarn))
            box.add_widget(card)

    def ask_yarn_of(self, shade: str, yarn: YarnForm) -> None:
        """Ask in which yarn a colour of the cartoon is knotted."""

        def take(yarn_id: object) -> None:
            self.change(sums.move_shade(self.form, shade, str(yarn_id)))

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
            lambda _name, colour: self.change(sums.with_yarn(self.form, yarn.id, swatch=colour)),
        )  # fmt: skip

    def ask_yarn_name(self, yarn: YarnForm) -> None:
        """Ask for a yarn's name."""

        def take(name: str) -> None:
            if not name:
                raise BadEntry(_("Give it a name."))
            self.change(sums.with_yarn(self.form, yarn.id, name=name))

        ask_text(self.shell, _("Name of the yarn"), yarn.name, take, most=60)

    def ask_share(self, yarn: YarnForm) -> None:
        """Ask for a colour's share; left empty it takes an even part."""
        ask_number(
            self.shell, _("Share of {name}").format(name=yarn.name), yarn.share,
            lambda share: self.change(sums.set_share(self.form, yarn.id, share)),
            unit="%", decimals=1, most=100, optional=True,
        )  # fmt: skip

    def ask_count(self, yarn_id: str | None, role: Role) -> None:
        """Ask for a fineness, of one yarn or of all of a role."""
        form = self.form
        yarn = form.of(role)[0] if yarn_id is None else form.yarn(yarn_id)

        def take(text: str) -> None:
            if text:
                parse_fineness(text)
            self._set_yarn(yarn_id, role, count=text)

        ask_text(
            self.shell,
            _("Fineness, as the label says it"),
            yarn.count,
            take,
            hint=EXAMPLES.split(", R")[0],
            most=60,
        )

    def _set_yarn(self, yarn_id: str | None, role: Role, **changes: Any) -> None:
        if yarn_id is None:
            self.change(sums.with_all(self.form, role, **changes))
        else:
            self.change(sums.with_yarn(self.form, yarn_id, **changes))

    def ask_of_yarn(self, name: str, yarn_id: str | None, role: Role) -> None:
        """Ask for one of a yarn's values, of one yarn or of all of a role."""
        yarn = self.form.of(role)[0] if yarn_id is None else self.form.yarn(yarn_id)
        title = view.yarn_lines(self.form, yarn, {})[name].label
        value = getattr(yarn, name)
        if name == "dyer":
            ask_text(
                self.shell, title, value, lambda text: self._set_yarn(yarn_id, role, dyer=text),
                hint=_("A name or a place"), most=80,
            )  # fmt: skip
            return
        unit, decimals, least, most, optional = {
            "unit_mass_g": (_("g"), 0, 1, 20_000, False),
            "passes": (_("passes"), 0, 1, 20, False),
            "take_up_percent": ("%", 1, 0, 300, True),
            "price_per_kg": ("", 2, 0, 10_000_000, True),
            "lead_days": (_("days"), 0, 0, 999, False),
            "margin_percent": ("%", 1, 0, 200, False),
            "skein_g": (_("g"), 0, 1, 50_000, False),
            "least_g": (_("g"), 0, 0, 500_000, False),
            "cut_length_mm": (_("mm"), 1, 5, 500, True),
            "pile_g_per_m2": (_("g"), 0, 50, 20_000, True),
        }[name]
        ask_number(
            self.shell, title, value, lambda given: self._set_yarn(yarn_id, role, **{name: given}),
            unit=unit, decimals=decimals, least=least, most=most, optional=optional,
        )  # fmt: skip

    def ask_fibre(self, yarn: YarnForm) -> None:
        """Ask of what a yarn is spun."""
        ask_choice(
            self.shell, _("Fibre"), view.fibres(),
            lambda fibre: self.change(sums.with_yarn(self.form, yarn.id, fibre=fibre)), yarn.fibre,
        )  # fmt: skip

    def remove(self, yarn: YarnForm) -> None:
        """Take a yarn out of the plan, with a way back."""
        before = self.form

        def work() -> None:
            after = sums.remove_yarn(before, yarn.id, self.book)
            self.yarn_id = ""
            self.change(after)
            self.shell.toast(
                _("{name} is out of the plan.").format(name=yarn.name), undo=lambda: self.change(before)
            )

        self.shell.try_act(work)

    # --- wefts, warp and loom

    def _fill_foundation(self, box: FormColumn, wrong: dict[str, str]) -> None:
        form = self.form
        box.heading(_("Wefts after each row"))
        box.note(_("The ground weft locks the row, the sinuous one is laid over it."))
        if "wefts" in wrong:
            box.warn(wrong["wefts"])
        self._yarn_list(box, Role.WEFT, wrong)
        box.key(_("Add a weft"), lambda: self.change(sums.add_weft(self.form)), icon="plus")
        if form.of(Role.WARP):
            box.heading(_("Warp"))
            self._yarn_list(box, Role.WARP, wrong)
        box.heading(_("Loom and ends"))
        lines = view.foundation_lines(form)
        for name, line in lines.items():
            box.field(line, lambda name=name, line=line: self.ask_foundation(name, line.label))

    def ask_foundation(self, name: str, title: str) -> None:
        """Ask for a measure of the loom or the ends."""
        if name == "selvedge_warps":
            ask_number(
                self.shell, title, self.form.selvedge_warps,
                lambda value: self.change(replace(self.form, selvedge_warps=value)), unit=_("warps"), most=200,
            )  # fmt: skip
            return
        unit = LengthUnit(self.form.unit)
        value = getattr(self.form, name)

        def take(given: float | None) -> None:
            self.change(replace(self.form, **{name: None if given is None else to_cm(given, unit)}))

        ask_number(
            self.shell, title, None if value is None else round(from_cm(value, unit), 2), take,
            unit=_("in") if unit is LengthUnit.INCH else _("cm"), decimals=1, most=5000,
            optional=name in ("loom_width_cm", "beam_roll_cm"),
        )  # fmt: skip

    # --- the working week

    def _fill_week(self, box: FormColumn, wrong: dict[str, str]) -> None:
        form = self.form
        lines = view.week_lines(form, self.desk.today(), wrong)
        box.heading(_("Days at the loom"))
        days = {index: name for name, index, _on in view.weekday_chips(form)}
        box.chips(
            tuple((name, index) for index, name in days.items()),
            lambda index: index in form.weekdays,
            lambda index: self.change(sums.toggle_weekday(form, index)),
        )
        if "weekdays" in wrong:
            box.warn(wrong["weekdays"])
        box.field(lines["hours"], self.ask_hours)
        box.heading(_("Weavers side by side"))
        stepper = Stepper(
            value=form.weavers_planned, least=1, most=12, loom=False, shown=number(form.weavers_planned),
            unit=n_("weaver", "weavers", form.weavers_planned),
        )  # fmt: skip
        stepper.height = max(look.touch, look.type_sizes["figure"] * 1.2 + look.type_sizes["small"] * 1.5)
        stepper.bind(
            on_step=lambda _stepper, value: self.change(replace(self.form, weavers_planned=int(value))),
            on_ask=lambda _stepper: self.ask_weavers(),
        )
        box.add_widget(stepper)
        known = [(weaver.id, weaver.name) for weaver in self._weavers_known()]
        names = [name for _id, name in (*known, *form.weavers)]
        if names:
            box.note(_("In the book: {names}").format(names=", ".join(names)))
        box.key(_("Name a weaver"), self.name_weaver, icon="person")
        box.field(lines["rate"], self.ask_rate)
        box.heading(_("When"))
        box.field(lines["start"], self.ask_start)
        box.field(lines["wish"], self.ask_wish)
        if form.wished_day is not None:
            box.key(
                _("Remove the wish"),
                lambda: self.change(replace(self.form, wished_day=None)),
                icon="close",
                role="quiet",
            )

    def _weavers_known(self) -> tuple[Any, ...]:
        if self.book is not None:
            return self.book.weavers
        return () if self.desk.rug is None else self.desk.rug.weavers

    def ask_hours(self) -> None:
        """Ask for the hours of a week."""
        ask_number(
            self.shell, _("Hours at the loom in a week"), self.form.hours_per_week,
            lambda value: self.change(replace(self.form, hours_per_week=value)),
            unit=_("hours"), decimals=1, least=0.5, most=168,
        )  # fmt: skip

    def ask_weavers(self) -> None:
        """Ask how many sit side by side."""
        ask_number(
            self.shell, _("Weavers side by side"), self.form.weavers_planned,
            lambda value: self.change(replace(self.form, weavers_planned=value)), unit=_("weavers"), least=1, most=12,
        )  # fmt: skip

    def ask_rate(self) -> None:
        """Ask for the rate the weaver expects."""
        ask_number(
            self.shell, _("Knots an hour, each weaver"), self.form.knots_per_hour,
            lambda value: self.change(replace(self.form, knots_per_hour=None if value is None else float(value))),
            unit=_("knots"), least=10, most=5000, optional=True,
        )  # fmt: skip

    def name_weaver(self) -> None:
        """Ask for somebody's name."""
        ask_text(
            self.shell, _("Who?"), "",
            lambda name: self.change(
                sums.add_weaver(self.form, name, tuple(weaver.name for weaver in self._weavers_known()))
            ),
            hint=_("A name"), most=60,
        )  # fmt: skip

    def ask_start(self) -> None:
        """Ask for the first day."""
        ask_day(
            self.shell, _("First day at the loom"), self.form.start_day,
            lambda picked: self.change(replace(self.form, start_day=picked)),
        )  # fmt: skip

    def ask_wish(self) -> None:
        """Ask for the wished day."""
        ask_day(
            self.shell,
            _("Wished to be done by"),
            self.form.wished_day or self.form.start_day + timedelta(days=90),
            lambda picked: self.change(replace(self.form, wished_day=picked)),
        )

    # --- saving

    def save(self) -> None:
        """Write the plan as one act; with something wrong, go there instead and say it."""
        form, book, desk, shell = self.form, self.book, self.desk, self.shell
        wrong = sums.troubles(form, book)
        if wrong:
            self._tried = True
            field = next(iter(wrong))
            self.part, self.yarn_id = view.part_of(form, field), ""
            self.show()
            shell.toast(wrong[field], warn=True)
            return
        acts: list[str] = []
        picture = self._picture if form.cartoon is not None and form.cartoon.file else None

        def work() -> None:
            found = sums.records(form, book, picture)
            if found.values or found.withdraw:
                kind = "rug planned" if form.new else "plan changed"
                acts.append(desk.act(kind, *found.values, withdraw=found.withdraw, rug_id=form.rug_id))

        if not shell.try_act(work):
            return
        kept = sums.to_kept(form)
        self._keep(None)
        draft = self._draft
        if form.new:
            desk.choose(form.rug_id)
        shell.open_tab("home")
        if not acts:
            shell.toast(_("Nothing was changed."))
            return

        undo = undoable(
            shell,
            desk,
            acts[0],
            _("Taken back. The form is kept as it was."),
            then=lambda: desk.drafts.put(DRAFTS, {**(desk.drafts.get(DRAFTS) or {}), draft: kept}),
        )
        desk.once(lambda: shell.toast(view.saved_words(form), undo=undo))


def _times(count: int) -> str:
    return n_("once", "{count} times", count).format(count=number(count))


load_kv(__file__)
