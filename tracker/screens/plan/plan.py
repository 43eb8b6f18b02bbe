"""Plan a rug, or change a plan: a card for each part, one part open at a time, everything assumed until it is said."""

from __future__ import annotations

from typing import Any

from kivy.properties import StringProperty

from tracker.domain.act import ActKind
from tracker.domain.loom import Loom
from tracker.domain.rug import RugBook
from tracker.domain.washing import shrinkage_taught
from tracker.files.typed import read_as
from tracker.presenters.mending import DOUBTS, doubts_laid_out, with_doubts
from tracker.presenters.plan import view
from tracker.presenters.plan.checks import troubles
from tracker.presenters.plan.form import PlanForm, blank_form, form_of
from tracker.presenters.plan.looms import doubt_of_fit, doubt_of_size, loom_of, with_loom
from tracker.presenters.plan.records import records
from tracker.presenters.settings import build_settings_state
from tracker.screens.plan.cartoon import ChosenCartoon
from tracker.screens.plan.cloth_part import ClothPart
from tracker.screens.plan.colours_part import ColoursPart
from tracker.screens.plan.drafts import NEW, PlanDrafts
from tracker.screens.plan.foundation_part import FoundationPart
from tracker.screens.plan.part import Part
from tracker.screens.plan.rug_part import RugPart
from tracker.screens.plan.size_part import SizePart
from tracker.screens.plan.week_part import WeekPart
from tracker.screens.plan.yarn_part import YarnPart
from tracker.sheets.asking import ask_doubt
from tracker.shell.page import Page, there
from tracker.shell.undo import undoable
from tracker.widgets.basics import Key, Text, bring_into_sight, load_kv, rest_at
from tracker.widgets.forms import CardKey
from tracker.widgets.look import look
from tracker.words import _


class SaveKey(Key):
    """Saves the plan before the last part, beside the key that leads on."""


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
    looms: tuple[Loom, ...] = ()
    """All looms of the book."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        # Held here: kv keeps only weak references to a pane that is off the page.
        self._panes = (self.ids.overview_scroll.__self__, self.ids.detail_scroll.__self__)
        self._boxes = (self.ids.overview.__self__, self.ids.detail.__self__)
        self._save_key = SaveKey(text=_("Save"), icon="check")
        self._save_key.bind(on_release=lambda _key: self.save())
        self.drafts = PlanDrafts(self.desk)
        self.cartoon = ChosenCartoon(self, self.drafts)
        self.foundation = FoundationPart(self)
        self.parts: dict[str, Part] = {
            "rug": RugPart(self, self.cartoon),
            "size": SizePart(self, self.cartoon),
            "cloth": ClothPart(self),
            "colours": ColoursPart(self),
            "foundation": self.foundation,
            "week": WeekPart(self, self.cartoon),
        }
        self.yarn_part = YarnPart(self)
        self._tried = False
        self._restored = False
        self._open = ("", "")
        self._way: list[str] = []
        """What was shown before on an upright phone, to which back leads; "" is the list of all parts."""
        self._left = ("", "", "")
        """Draft, part and yarn that were open when another page came on top: with that one done, the page goes on there."""
        look.bind(shape=self._relaid, text_scale=self._relaid)

    # --- coming and going

    def _relaid(self, *_args: Any) -> None:
        self.show()

    def enter(
        self,
        rug_id: str | None = None,
        loom_id: str | None = None,
        draft: str = NEW,
        afresh: bool = False,
        **_what: Any,
    ) -> None:
        if afresh:
            self.shell.done_once("afresh")
            self._left = ("", "", "")
        desk = self.desk
        self._tried = self.yarn_part.more = False
        for part in self.parts.values():
            part.more = False
        self.book = None
        if rug_id is not None:
            if desk.rug is not None and desk.rug.plan.id == rug_id:
                self.book = desk.rug
            else:
                self.shell.try_act(lambda: setattr(self, "book", desk.rug_book(rug_id)))
        # A draft that is not there any more was saved: its way back leads to a new plan.
        begun = draft if draft in self.drafts else NEW
        self._draft = begun if self.book is None else rug_id or NEW
        half_filled = self.drafts.form(self._draft)
        planned = {plan.id for plan in desk.plans}
        if half_filled is not None and half_filled.new and half_filled.rug_id in planned:
            # It was saved, and the app killed before it forgot the form: gone on with, it would plan that rug anew.
            self.drafts.keep(self._draft, None)
            half_filled = None
        left, self.part, self.yarn_id = self._left
        if left != self._draft:
            self.part = self.yarn_id = ""
            self._way = []
        # What this page itself showed last, before a cartoon was read, was never away.
        self._restored = half_filled not in (None, self.form)
        self.form = half_filled or self._fresh()
        if self.form.new and half_filled is None and not self.part and look.shape == "tall":
            self.part = view.PARTS[0]
        self._read_looms()
        loom = next((loom for loom in self.looms if loom.id == loom_id), None)
        if loom is not None:
            self.form = with_loom(self.form, loom)
        self.drafts.tidy()
        self.cartoon.open()

    def leave(self) -> None:
        self._left = (self._draft, self.part, self.yarn_id)

    def _read_looms(self) -> None:
        """Read the looms; a page that comes up before the book is open knows none yet."""
        if self.desk.was_opened:
            self.shell.try_act(lambda: setattr(self, "looms", self.desk.looms()))

    def _fresh(self) -> PlanForm:
        chosen = build_settings_state(self.desk.drafts, self.desk.settings)
        if self.book is not None:
            return form_of(self.book, chosen.unit)
        others = [key for key in self.drafts.begun() if key != self._draft]
        rugs = len(self.desk.plans) + len(others)
        return blank_form(self.desk.today(), rugs, chosen.unit, chosen.lead_days)

    def stands(self) -> dict[str, Any]:
        return {"part": self.part, "yarn": self.yarn_id, "way": self._way, **self.cartoon.stands()}

    def stand(self, how: dict[str, Any]) -> None:
        part, yarn_id = read_as(str, how["part"]), read_as(str, how["yarn"])
        self.part = part if part in self.parts else ""
        self.yarn_id = yarn_id if self.part and there(self.form).yarn(yarn_id) is not None else ""
        self._way = [
            step for step in read_as(list[str], how.get("way", [])) if not step or step in self.parts
        ]
        self.show()
        self.cartoon.stand(how)

    def back(self) -> bool:
        if self.yarn_id:
            self.yarn_id = ""
        elif self._way and look.shape == "tall":
            self.part = self._way.pop()
        else:
            return False
        self.show()
        return True

    def refresh(self) -> None:
        rug = self.desk.rug
        if self.book is not None and rug is not None and rug.plan.id == self.book.plan.id:
            self.book = rug
        self._read_looms()
        self.show()

    # --- keeping

    def change(self, form: PlanForm) -> None:
        """Take a changed form, keep it beside the book, and show it."""
        self.keep(form)
        self.show()

    def keep(self, form: PlanForm) -> None:
        """Take a changed form and keep it beside the book, while another page is shown."""
        self.form = form
        self.drafts.keep(self._draft, form)

    def start_over(self) -> None:
        """Forget the draft, with a way back."""
        before, part, picture = there(self.form), self.part, self.cartoon.picture
        self.drafts.keep(self._draft, None)
        self.form = self._fresh()
        self.cartoon.forget()
        self.cartoon.take_books()
        self._restored = self._tried = False
        self.part = self.yarn_id = ""
        self._way = []
        self.show()

        def undo() -> None:
            self.cartoon.picture, self.part = picture, part
            self.change(before)

        self.shell.toast(_("The form is as at the start."), undo=undo)

    # --- showing

    def show(self) -> None:
        """Show the form as it is."""
        form = self.form
        if form is None:
            return
        wide = look.shape != "tall"
        wrong = troubles(form, self.book)
        shown = wrong if self._tried else {key: words for key, words in wrong.items() if key not in ("name",)}
        loom = loom_of(form, self.looms)
        parts = view.overview(
            form,
            self.book,
            shown,
            "" if loom is None else loom.name,
            not self.foundation.fit()[0],
        )
        open_part = self.part or ("rug" if wide else "")
        title = _("Plan a rug") if form.new else _("Change the plan")
        self.heading = title if wide or not open_part else view.part_title(open_part)
        yarn = form.yarn(self.yarn_id) if self.yarn_id else None
        if yarn is not None and not wide:
            self.heading = yarn.name
        self.actions = (
            [("more", _("All parts"), lambda: self.open(""))]
            if open_part and yarn is None and not wide
            else []
        )
        self._show_panes(wide, open_part)
        if self._open == (open_part, self.yarn_id):
            # Filled anew it stands empty for a moment, and would begin at its head.
            for pane in self._panes:
                pane.keep_place()
        self._boxes[0].clear_widgets()
        if wide or not open_part:
            # Nobody sees the cards beside a part that fills the window.
            self._fill_overview(parts, open_part if wide else "")
        detail = self._boxes[1]
        detail.clear_widgets()
        if open_part:
            if yarn is not None:
                self.yarn_part.fill_yarn(detail, yarn, shown)
            else:
                self.parts[open_part].fill(detail, shown)
        if self._open != (open_part, self.yarn_id):
            self._open = (open_part, self.yarn_id)
            # What was said, and what could be undone, was of the part that was open.
            self.shell.dismiss_toast()
            rest_at(self._panes[1], 1.0)
            if wide:
                bring_into_sight(self._panes[0], self._chosen_card)
        # Large type needs the room for what is asked.
        self.summary = (
            ""
            if open_part and look.text_scale >= 1.5
            else view.summary(form, self.book, self.cartoon.picture, self.desk.taught_pace(form.rug_id))
        )
        self._show_forward(open_part, wide)

    def _chosen_card(self) -> CardKey | None:
        """Return the card of the part that is open, in the list beside it."""
        cards = (card for card in self._boxes[0].children if isinstance(card, CardKey))
        return next((card for card in cards if card.chosen), None)

    def _show_panes(self, wide: bool, open_part: str) -> None:
        """Put the cards, the open part, or both on the page."""
        overview, detail = self._panes
        wanted = [overview, detail] if wide else [detail] if open_part else [overview]
        panes = self.ids.panes
        if list(reversed(panes.children)) != wanted:
            panes.clear_widgets()
            for pane in wanted:
                panes.add_widget(pane)

    def _show_forward(self, open_part: str, wide: bool) -> None:
        following = self._following(open_part)
        early = False
        if wide or not open_part or not following:
            self.forward, self.forward_icon = (_("Save the plan"), "check")
        elif self.yarn_id:
            self.forward, self.forward_icon = _("Done"), "check"
        else:
            early = view.can_save_early(there(self.form))
            # Two keys side by side leave large type no room for the part's title.
            words = _("Next") if early and look.text_scale >= 1.5 else _("Next: {part}")
            self.forward, self.forward_icon = words.format(part=view.part_title(following)), "right"
        keys = self.ids.foot_keys
        if early != (self._save_key.parent is not None):
            if early:
                keys.add_widget(self._save_key, index=len(keys.children))
            else:
                keys.remove_widget(self._save_key)

    def _following(self, part: str) -> str:
        form = there(self.form)
        return view.following(form, part, shrinkage_taught(self.desk.plans, form.rug_id)) if part else ""

    def go_forward(self) -> None:
        """Open the next part, or save."""
        if look.shape == "tall" and self.yarn_id:
            self.back()
        elif look.shape == "tall" and self.part and self._following(self.part):
            self.open(self._following(self.part))
        else:
            self.save()

    def open(self, part: str) -> None:
        """Open one part, or "" for the list of all; back leads to what was shown before, whichever way that was come by."""
        if part in self._way:
            del self._way[self._way.index(part) :]
        elif part != self.part:
            self._way.append(self.part)
        self.part, self.yarn_id = part, ""
        self.yarn_part.more = False
        self.shell.part_changed()
        self.show()

    def open_yarn(self, yarn_id: str) -> None:
        """Open one yarn."""
        self.yarn_id, self.yarn_part.more = yarn_id, False
        self.show()

    def _fill_overview(self, parts: tuple[view.Part, ...], open_part: str) -> None:
        box = self._boxes[0]
        if self._restored:
            note = Text(text=_("Draft restored."), style="small", tone="soft")
            box.add_widget(note)
        elif there(self.form).new and not open_part:
            box.add_widget(Text(text=view.starting_words(), tone="soft"))
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
            order = Key(text=_("Customer's order"), icon="person", role="quiet")
            order.bind(on_release=lambda _key: self.shell.go("order"))
            box.add_widget(order)
        if self._draft in self.drafts:
            again = Key(text=_("Start over"), icon="anew", role="quiet")
            again.bind(on_release=lambda _key: self.start_over())
            box.add_widget(again)

    # --- saving

    def save(self) -> None:
        """Write the plan as one act; with something wrong, go there instead and say it."""
        form, book, shell = there(self.form), self.book, self.shell
        wrong = troubles(form, book)
        if wrong:
            self._tried = True
            field = next(iter(wrong))
            self.open(view.part_of(form, field))
            shell.toast(wrong[field], warn=True)
            return
        ask_doubt(shell, doubt_of_size(form, book), self._ask_fit, lambda: self.open("size"))

    def _ask_fit(self) -> None:
        doubt = doubt_of_fit(there(self.form), self.looms, self.foundation.others(), self.book)
        ask_doubt(self.shell, doubt, self._write, lambda: self.open("foundation"))

    def _write(self) -> None:
        form, book, desk, shell = there(self.form), self.book, self.desk, self.shell
        acts: list[str] = []
        picture = self.cartoon.picture if form.cartoon is not None and form.cartoon.file else None

        def work() -> None:
            changed = records(form, book, picture)
            if changed.values or changed.withdraw:
                kind = ActKind.RUG_PLANNED if form.new else ActKind.PLAN_CHANGED
                acts.append(desk.act(kind, *changed.values, withdraw=changed.withdraw, rug_id=form.rug_id))

        if not shell.try_act(work):
            return
        draft = self._draft
        self.drafts.keep(draft, None)
        self.part = self.yarn_id = ""
        self._way = []
        if picture is not None and form.cartoon is not None:
            doubts = with_doubts(desk.drafts.get(DOUBTS), form.rug_id, doubts_laid_out(form.cartoon))
            desk.drafts.put(DOUBTS, doubts)
        if form.new:
            desk.choose(form.rug_id)
        shell.open_tab("home")
        if form.rug_id != desk.rug_id and not form.new:
            # A plan that was changed from the shelf leads back there, not to the rug in hand.
            shell.go("shelf")
        if not any(acts):
            shell.toast(_("Nothing was changed."))
            return

        undo = undoable(
            shell,
            desk,
            acts[0],
            _("Undone. The form is kept as it was."),
            then=lambda: self.drafts.keep(draft, form),
        )
        desk.once(lambda: shell.toast(view.saved_words(form), undo=undo))


load_kv(__file__)
