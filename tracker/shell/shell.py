"""What holds the pages: one page at a time, the bar to the main ones, sheets above, and the strip that answers."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any
from weakref import WeakMethod

from kivy.clock import Clock
from kivy.core.window import Window
from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from tracker.shell.over_page import OverPage
from tracker.shell.page import Page, there
from tracker.shell.pages import PageInfo
from tracker.widgets.basics import Key, load_kv
from tracker.widgets.laid_out import FloatLayout, lay_out_now
from tracker.widgets.look import look
from tracker.widgets.motion import glide
from tracker.widgets.plain_label import unshown
from tracker.words import _

if TYPE_CHECKING:
    from tracker.shell.sheet import Sheet
    from tracker.shell.toast import Toast

TOAST_SECONDS = 5.5
"""How long the strip stays: long enough to be read, short enough to be out of the way."""
WARNING_SECONDS = 10
"""The same for a trouble said at length, with nothing to tap in it."""
STRIP_DP = 560
"""Width of the strip at most: on a tablet its key stays beside its sentence."""
STRIP_AIR_DP = 4
"""Beside the strip: less than before any title, of which nothing shows beside it."""
PAGES_KEPT = 2
"""Pages besides the main ones that stay built while others are shown: to and fro between two is at once, and each is some
hundred widgets, 5 MiB."""
TIMER_APART_FROM = 1.5
"""Text size from which a running timer has a line of its own on a phone upright: in the bar it left the title no room."""
SAME_TAP_S = 0.4
SAME_TAP_DP = 40
"""A second touch so soon after what lies under the finger has changed or was counted, and so near the first, was meant for what
lay there before: our own judgement, from the 0.25 s within which two touches usually count as a double tap. No row is woven
and no ball wound in that time."""
SAME_TAP_ON_BAR_S = 0.7
"""The same where the bar of the main pages has come up under the finger: a second tap on Save, which lay there, left the page with
its undo. Whoever looks for a main page looks first, and seldom for the one that came up just there."""


Step = tuple[str, dict[str, Any], dict[str, Any]]
"""One page of the way to the one shown: its name, what it was opened with, how it stands (nothing: as it opens)."""


class NavKey(Key):
    """A key of the bar to the main pages."""

    EVEN_BELOW = True
    AIR_DP = 8
    """At either side of the word, so that it stands apart from the next key's."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.fbind("height", self._air)
        self.inscription.fbind("texture_size", self._air)
        self._air()

    def _air(self, *_args: Any) -> None:
        above = (self.height - self.icon_px() - self.inscription.texture_size[1]) / 2
        self.padding = dp(self.AIR_DP), max(dp(3), above)
        self._widen_icon()


class Shell(FloatLayout):
    """The root of the window."""

    page = ObjectProperty(None, allownone=True)
    page_name = StringProperty("")
    desk = ObjectProperty(None)
    nav_shown = BooleanProperty(True)
    timer_words = StringProperty("")
    """The time of the running timer, as the main pages show it; "" while none runs."""
    timer_rug = StringProperty("")
    """The name of the rug whose timer runs, where another one is in hand; "" elsewhere."""
    timer_badge = StringProperty("")
    """The time as the bars of the main pages show it; "" where it has a line of its own."""
    timer_line = StringProperty("")
    """The rug's name and the time on a line over the bar of the main pages: in large type they leave a title no room."""
    followed = BooleanProperty(False)
    """Whether a row is being followed at the loom."""
    leads_back = BooleanProperty(False)
    """Whether back leads anywhere within the app: away from a sheet, from a page, out of a part of one. Only the first page,
    come to by itself and with nothing over it, is the end."""
    slide = NumericProperty(0.0)
    """How far beside its place a page that just came on top still is, as a share of `SLIDE_DP`."""

    def __init__(
        self,
        desk: Any,
        pages: Mapping[str, PageInfo],
        timer: Callable[[], tuple[str, str]] = lambda: ("", ""),
        **kwargs: Any,
    ) -> None:
        self._infos = pages
        self._timer = timer
        self._sheet_shown: OverPage | None = None
        self._changed_s = {"page": -math.inf, "strip": -math.inf, "bar": -math.inf}
        self._touched = (-math.inf, -math.inf)
        super().__init__(desk=desk, **kwargs)
        self._pages: dict[str, Page] = {}
        self._trail: list[tuple[str, dict[str, Any]]] = []
        self._rests: dict[int, tuple[float, ...]] = {}
        """Where what scrolls rested on the pages that back leads to, by their place in the trail."""
        self._toast: Toast | None = None
        self._toast_event = None
        self._refusal: Toast | None = None
        """The strip that says why a form cannot be saved."""
        self._closed = False
        self._handing_over = False
        self._told_of_letters = False
        unshown[:] = [WeakMethod(self.tell_of_letters)]
        self._build_nav()
        look.bind(shape=self._build_nav)
        # Where the title stands is known once the page is laid out: after it came, was turned, or its type grew.
        self._strip_is_due = Clock.create_trigger(self._place_strip)
        self.ids.holder.bind(pos=self.place_strip_anew, size=self.place_strip_anew)
        look.bind(text_scale=self.place_strip_anew)
        look.bind(shape=self._place_timer, text_scale=self._place_timer)
        self.bind(nav_shown=self._place_timer)
        desk.listen(self.book_changed)

    def _build_nav(self, *_args: Any) -> None:
        nav = self.ids.nav
        nav.clear_widgets()
        if not self.nav_shown:
            # What lies outside the window would still be drawn with every frame.
            return
        for name, info in self._infos.items():
            if info.tab:
                key = NavKey(icon=info.icon, text=_(info.label), value=name)
                key.bind(on_release=lambda key: self.open_tab(key.value))
                nav.add_widget(key)
        if look.shape == "tablet":
            nav.add_widget(Widget())
        self._mark_nav()

    def on_nav_shown(self, *_args: Any) -> None:
        self._build_nav()
        if self.nav_shown:
            self._ground_changed("bar")

    def _mark_nav(self) -> None:
        """Mark the main page that is shown, whichever way led there."""
        for key in (child for child in self.ids.nav.children if isinstance(child, NavKey)):
            key.role = "here" if key.value == self.page_name else "quiet"

    def open_tab(self, name: str, **what: Any) -> None:
        """Go to a main page and forget the trail behind."""
        self._trail = [(name, what)]
        self._show(name, what)

    def go(self, name: str, **what: Any) -> None:
        """Go to a page; back leads to the present one."""
        if self.page is not None:
            self._rests[len(self._trail) - 1] = self.page.rests()
        self._trail.append((name, what))
        self._show(name, what)

    @property
    def first_page(self) -> str:
        """The page with which the app begins."""
        return next(name for name, info in self._infos.items() if info.tab)

    def built(self, name: str) -> Page | None:
        """Return a page that was shown before and is still there."""
        return self._pages.get(name)

    def way(self) -> list[Step]:
        """Return the pages that lead to the one shown, up to the first that was opened with what no file can say."""
        way: list[Step] = []
        for index, (name, what) in enumerate(self._trail):
            if not all(isinstance(value, str | int | float | bool | None) for value in what.values()):
                break
            later = any(name == other for other, _what in self._trail[index + 1 :])
            page = None if later else self._pages.get(name)
            way.append((name, what, {} if page is None else page.stands()))
        return way

    def go_way(self, way: Sequence[Step]) -> None:
        """Go the way that `way` told, each page standing as it stood.

        Raises
        ------
        ValueError, LookupError, LoomsideError
            When a page of it is not there any more; the app stands at its first page then.
        """
        try:
            for index, (name, what, stands) in enumerate(way):
                if name not in self._infos:
                    raise LookupError(name)
                if index == 0:
                    self.open_tab(name, **what)
                else:
                    self.go(name, **what)
                if stands:
                    there(self.page).stand(stands)
        except Exception:
            self.open_tab(self.first_page)
            raise

    def done_once(self, *names: str) -> None:
        """Take off the way what the page shown was opened with and has done: coming back to it does it no second time."""
        page, what = self._trail[-1]
        self._trail[-1] = (page, {name: value for name, value in what.items() if name not in names})

    def replace(self, name: str, **what: Any) -> None:
        """Go to a page in place of the present one."""
        self._trail[-1:] = [(name, what)]
        self._show(name, what)

    def _look_back(self) -> None:
        """Tell whether back now leads anywhere, as the trail and the sheets stand."""
        way = [name for name, _what in self._trail]
        self.leads_back = self.sheet is not None or way not in ([], [self.first_page])

    def back(self) -> bool:
        """Do what the back gesture should: close a sheet, step back in a page, or leave it. False at the end."""
        if not self.leads_back:
            return False
        sheet = self.sheet
        if sheet is not None:
            sheet.put_away()
            return True
        if self.page is not None and self.page.back():
            return True
        if len(self._trail) > 1:
            self._trail.pop()
            self._come_back()
        else:
            self.open_tab(self.first_page)
        return True

    def back_to(self, name: str) -> None:
        """Go back along the trail to a page that lies on it; without one, to the page before."""
        places = [at for at, (page, _what) in enumerate(self._trail[:-1]) if page == name]
        if places:
            self._trail = self._trail[: places[-1] + 1]
            self._come_back()
        else:
            self.back()

    def _come_back(self) -> None:
        """Show the last page of the trail, resting where it did."""
        rests = self._rests.get(len(self._trail) - 1, ())
        self._show(*self._trail[-1])
        page = there(self.page)

        def rest(_dt: float) -> None:
            if page is self.page:
                page.rest(rests)

        Clock.schedule_once(rest)  # what scrolls has its height after the next frame

    def _show(self, name: str, what: dict[str, Any]) -> None:
        self.dismiss_toast()
        self._ground_changed()
        if self.page is not None:
            self.page.leave()
        for sheet in [child for child in self.children if isinstance(child, OverPage)]:
            self.remove_widget(sheet)
        page = self._pages.get(name)
        if page is None:
            page = self._infos[name].load()(name=name, shell=self, desk=self.desk)
        # The one shown last stands last.
        self._pages.pop(name, None)
        self._pages[name] = page
        self._drop_old_pages()
        holder = self.ids.holder
        holder.clear_widgets()
        self.page = page
        self.page_name = name
        self._look_back()
        self.nav_shown = self._infos[name].tab
        self.look_at_timer()
        page.behind = self.desk.behind
        page.enter(**what)
        page.rest()
        page.refresh()
        holder.add_widget(page)
        self._mark_nav()
        glide(self, {"slide": 1.0}, {"slide": 0.0})

    def look_at_timer(self) -> None:
        """Show the time of the running timer on the main pages, and at which rug it runs where another one is in hand."""
        words, rug_id = self._timer()
        named = [plan.name for plan in self.desk.plans if plan.id == rug_id]
        # Which one is in hand is asked last: while the book still opens nobody knows, and the first view does not wait for it.
        self.timer_rug = named[0] if named and rug_id != self.desk.rug_id else ""
        self.timer_words = words
        self._place_timer()

    def _place_timer(self, *_args: Any) -> None:
        """Show the timer in the bar of the page; on a phone upright on a line of its own in large type, and with another rug's name.

        On its side only the row has no room for it: its head is half as wide.
        """
        large = look.text_scale >= TIMER_APART_FROM
        upright = look.shape == "tall" and (large or bool(self.timer_rug))
        apart = self.nav_shown and (upright or (look.shape == "wide" and large and self.page_name == "loom"))
        self.timer_badge = "" if apart else self.timer_words
        told = [part for part in (self.timer_rug, self.timer_words) if part]
        self.timer_line = " · ".join(told) if apart and self.timer_words else ""

    def open_timer(self) -> None:
        """Open the session whose timer runs, its rug in hand."""
        _words, rug_id = self._timer()
        self.go_with_rug(rug_id or self.desk.rug_id, "session")

    def go_with_rug(self, rug_id: str | None, name: str, **what: Any) -> None:
        """Go to a page that is about the rug in hand, with another one in hand where it is of another."""
        desk = self.desk
        named = [plan.name for plan in desk.plans if plan.id == rug_id != desk.rug_id]
        if named:
            desk.choose(rug_id)

        def go() -> None:
            self.go(name, **what)
            if named:
                # The next evening would be logged on it: that is said where it changes.
                self.toast(_("{name} is the rug shown now.").format(name=named[0]))

        desk.once(go)

    def _drop_old_pages(self) -> None:
        """Let go of the pages that were not shown for longest, but for the main ones, those that back leads to, and busy ones."""
        on_trail = {name for name, _what in self._trail}
        idle = [
            name
            for name, page in self._pages.items()
            if not self._infos[name].tab and name not in on_trail and not getattr(page, "busy", "")
        ]
        for name in idle[: max(0, len(idle) - PAGES_KEPT)]:
            del self._pages[name]

    def drop_hidden_pages(self) -> None:
        """Let go of every page that is not shown; each is built anew when it is next wanted.

        One that holds what no file has stays.
        """
        self._pages = {name: page for name, page in self._pages.items() if page is self.page or page.unkept}

    def rebuild_pages(self) -> None:
        """Build every page anew when next shown (another language, another book), and reckon the answers' words anew."""
        self._pages.clear()
        self._build_nav()
        self.desk.read()
        if self._trail:
            self._show(*self._trail[-1])

    def every_page(self) -> list[Page]:
        """All pages built so far."""
        return list(self._pages.values())

    def close(self) -> None:
        """End the page on top and keep none: the app closes."""
        self._closed = True
        if self.page is not None:
            self.page.leave()
        self.dismiss_toast()
        self.desk.unlisten(self.book_changed)
        self.close_sheet()
        self.ids.holder.clear_widgets()
        self.page = None
        self._pages.clear()

    def book_changed(self) -> None:
        """The desk has a newer book or newer answers."""
        self.look_at_timer()
        self.say_behind()
        if self.page is not None:
            self.page.refresh()

    def say_behind(self) -> None:
        """Let the page show that its dates are those of another day, for as long as they are worked out anew."""
        if self.page is not None:
            self.page.behind = self.desk.behind

    # --- a second tap

    def part_changed(self) -> None:
        """A page shows another of its parts: what is tapped once more in the same place is meant for the one before."""
        self._ground_changed()

    def counted(self) -> None:
        """One tap counted one row or ball: a second in a moment is the same tap, not one more."""
        self._ground_changed()

    def _ground_changed(self, what: str = "page") -> None:
        """Something else lies under the finger; counted from the next frame on, when it can be seen."""

        def count(_dt: float) -> None:
            self._changed_s[what] = Clock.get_time()

        self._changed_s[what] = math.inf
        Clock.schedule_once(count, 0)

    def on_children(self, *_args: Any) -> None:
        """Note when a sheet comes or goes."""
        if self.sheet is not self._sheet_shown:
            self._sheet_shown = self.sheet
            self._look_back()
            self._ground_changed()
            self._time_strip()

    def on_touch_down(self, touch: Any) -> bool:
        before, self._touched = self._touched, touch.pos
        on_strip = self._toast is not None and self._toast.collide_point(*touch.pos)
        changed_s = max(self._changed_s["page"], self._changed_s["strip"] if on_strip else -math.inf)
        on_bar = self.sheet is None and self.nav_shown and self.ids.nav.collide_point(*touch.pos)
        same = Clock.get_time() - changed_s < SAME_TAP_S
        same = same or (on_bar and Clock.get_time() - self._changed_s["bar"] < SAME_TAP_ON_BAR_S)
        if same and math.dist(before, touch.pos) < dp(SAME_TAP_DP):
            return True
        return super().on_touch_down(touch)

    @property
    def sheet(self) -> OverPage | None:
        """The sheet on top, or None."""
        return next((child for child in self.children if isinstance(child, OverPage)), None)

    def open_sheet(self, title: str, content: Widget, on_close: Callable[[], None] | None = None) -> Sheet:
        """Show `content` in a sheet over the page."""
        from tracker.shell.sheet import Sheet

        sheet = Sheet(title=title)
        sheet.on_close = on_close
        sheet.fill(content)
        self.add_widget(sheet)
        glide(sheet, {"away": 1.0}, {"away": 0.0})
        return sheet

    def close_sheet(self) -> None:
        """Put the sheet on top away, if there is one."""
        if self.sheet is not None:
            self.sheet.put_away()

    def toast(
        self, sentence: str, undo: Callable[[], None] | None = None, warn: bool = False, fuller: str = ""
    ) -> None:
        """Answer an act: a sentence for a few seconds, with an undo key when there is something to undo."""
        from tracker.shell.toast import Toast

        if self._closed:
            return  # its time would keep what is closed
        self.dismiss_toast()
        strip = Toast(sentence=sentence, fuller=fuller, undo_label=_("Undo") if undo else "", warn=warn)
        if undo is not None:
            strip.undo = lambda: self._undo(undo, strip)
        strip.bind(on_put_away=self._put_strip_away)
        self._toast = strip
        place = self.ids.toast_place
        place.add_widget(strip)
        # A binding in kv would read the height once, before the sentence is laid out.
        strip.bind(height=self._place_strip)
        # A page that has just come has no place for it before it is laid out.
        lay_out_now()
        self._place_strip()
        self._ground_changed("strip")
        self._time_strip()

    def _time_strip(self) -> None:
        """Let the strip's time run; what can be undone keeps its time while a sheet lies over it."""
        strip = self._toast
        if self._toast_event:
            self._toast_event.cancel()
        if strip is None or (strip.undo_label and self.sheet is not None):
            return
        long = strip.warn and not strip.undo_label
        self._toast_event = Clock.schedule_once(
            lambda _dt: self.dismiss_toast(), WARNING_SECONDS if long else TOAST_SECONDS
        )

    def tell_of_letters(self) -> None:
        """Say once, when words have letters that cannot be drawn, that they are kept all the same."""
        if not self._told_of_letters:
            self._told_of_letters = True
            Clock.schedule_once(self._say_letters)

    def _say_letters(self, _dt: float) -> None:
        if self._toast is not None:  # what it answers, and its undo, come first
            Clock.schedule_once(self._say_letters, TOAST_SECONDS)
            return
        self.toast(_("Some letters cannot be shown here. They are kept as typed."))

    def refuse(self, sentence: str) -> None:
        """Say why a form cannot be saved as it stands; it is taken back as soon as the form changes."""
        self.toast(sentence, warn=True)
        self._refusal = self._toast

    def form_changed(self) -> None:
        """Take away what was said of the form as it stood before."""
        if self._refusal is not None and self._refusal is self._toast:
            self.dismiss_toast()
        self._refusal = None

    def _undo(self, undo: Callable[[], None], strip: Toast) -> None:
        """Undo, and say so where nobody says more: the strip speaks of what is no longer so."""
        undo()

        def tell() -> None:
            if self._toast is strip:
                self.toast(_("Undone."))

        self.desk.once(tell)

    def place_strip_anew(self, *_args: Any) -> None:
        """Let the strip stand where the page now has its place for it, once the page is laid out."""
        self._strip_is_due()

    def _place_strip(self, *_args: Any) -> None:
        """Let the strip stand in the title's place, so that nothing of the page is hidden or moves."""
        if self._toast is None:
            return
        place = self.ids.toast_place
        page, air = self.page, 2 * dp(STRIP_AIR_DP)
        left, top, width = page.strip_band() if page is not None else (self.x, self.top, self.width)
        if page is not None and not self._toast.stands_in(min(width - air, dp(STRIP_DP))):
            width = page.strip_room()
        place.size = min(width - air, dp(STRIP_DP)), self._toast.height
        place.pos = left + dp(STRIP_AIR_DP), top - place.height

    def _put_strip_away(self, *_args: Any) -> None:
        """Take the strip away under the finger: a second tap in a moment is meant for it, not for what it lay over."""
        self.dismiss_toast()
        self._ground_changed()

    def dismiss_toast(self) -> None:
        """Take the strip away."""
        if self._toast_event:
            self._toast_event.cancel()
        self.ids.toast_place.clear_widgets()
        self._toast = None

    def try_act(self, work: Callable[[], None]) -> bool:
        """Do `work`; when it fails with a sentence, show it and return False. Input stays where it is.

        While a sheet hands its answer over (`hand_over`) the failure is raised on: the sheet says it, and stays.
        """
        from tracker.domain.errors import LoomsideError

        try:
            work()
        except LoomsideError as trouble:
            if self._handing_over:
                raise
            self.toast(trouble.sentence, warn=True)
            return False
        return True

    def hand_over(self, take: Callable[[], None]) -> None:
        """Let `take` have what was answered in a sheet; it raises what `try_act` would say, so that the sheet keeps the answer."""
        self._handing_over = True
        try:
            take()
        finally:
            self._handing_over = False

    def on_size(self, *_args: Any) -> None:
        look.fit(*Window.size)


load_kv(__file__)
