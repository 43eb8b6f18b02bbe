"""What holds the pages: one page at a time, the bar to the main ones, sheets above, and the strip that answers."""

from __future__ import annotations

from collections.abc import Callable

from kivy.clock import Clock
from kivy.core.window import Window
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.floatlayout import FloatLayout
from kivy.uix.widget import Widget

from tracker.screens import PAGES, page_class
from tracker.widgets.basics import Card, Key, load_kv
from tracker.widgets.look import look
from tracker.words import _

STRIP_SECONDS = 8


class Page(BoxLayout):
    """One screen. Subclasses ask a presenter in `refresh` and lay out in their kv."""

    title = StringProperty("")
    can_go_back = BooleanProperty(True)
    actions = ListProperty([])
    name = StringProperty("")
    stage = ObjectProperty(None)
    desk = ObjectProperty(None)

    def enter(self, **what) -> None:
        """Come on top, told what to show. Called each time, before `refresh`."""

    def refresh(self) -> None:
        """Show what the book now says."""

    def leave(self) -> None:
        """Another page comes on top."""

    def back(self) -> bool:
        """Handle the back gesture; True when there was something of the page's own to go back from."""
        return False


class Sheet(FloatLayout):
    """A card that slides over a page to ask one thing; back or a tap beside it puts it away."""

    title = StringProperty("")
    content = ObjectProperty(None)
    on_close: Callable[[], None] | None = None

    def on_touch_down(self, touch):
        if not self.ids.card.collide_point(*touch.pos):
            self.put_away()
            return True
        super().on_touch_down(touch)
        return True

    def put_away(self) -> None:
        """Close the sheet."""
        if self.parent:
            self.parent.remove_widget(self)
        if self.on_close:
            self.on_close()


class Strip(Card):
    """Says what just changed and offers to take it back."""

    sentence = StringProperty("")
    undo_label = StringProperty("")
    undo = ObjectProperty(None, allownone=True)
    warn = BooleanProperty(False)

    def take_back(self) -> None:
        """Undo what the strip speaks of."""
        undo, self.undo = self.undo, None
        if undo:
            undo()


class NavKey(Key):
    """A key of the bar to the main pages."""


class Stage(FloatLayout):
    """The root of the window."""

    page = ObjectProperty(None, allownone=True)
    page_name = StringProperty("")
    desk = ObjectProperty(None)
    nav_shown = BooleanProperty(True)

    def __init__(self, desk, **kwargs) -> None:
        super().__init__(desk=desk, **kwargs)
        self._pages: dict[str, Page] = {}
        self._trail: list[tuple[str, dict]] = []
        self._strip: Strip | None = None
        self._strip_event = None
        self._build_nav()
        look.bind(shape=self._build_nav)
        desk.listen(self.book_changed)

    def _build_nav(self, *_args) -> None:
        nav = self.ids.nav
        nav.clear_widgets()
        if not self.nav_shown:
            # What lies outside the window would still be drawn with every frame.
            return
        for name, info in PAGES.items():
            if info.tab:
                key = NavKey(icon=info.icon, text=_(info.label), value=name)
                key.bind(on_release=lambda key: self.home(key.value))
                nav.add_widget(key)
        if look.shape == "tablet":
            nav.add_widget(Widget())
        self._mark_nav()

    def on_nav_shown(self, *_args) -> None:
        self._build_nav()

    def _mark_nav(self) -> None:
        root = self._trail[0][0] if self._trail else ""
        for key in (child for child in self.ids.nav.children if isinstance(child, NavKey)):
            key.role = "here" if key.value == root else "quiet"

    def home(self, name: str, **what) -> None:
        """Go to a main page and forget the trail behind."""
        self._trail = [(name, what)]
        self._show(name, what)

    def go(self, name: str, **what) -> None:
        """Go to a page; back leads to the present one."""
        self._trail.append((name, what))
        self._show(name, what)

    def replace(self, name: str, **what) -> None:
        """Go to a page in place of the present one."""
        self._trail[-1:] = [(name, what)]
        self._show(name, what)

    def back(self) -> bool:
        """Do what the back gesture should: close a sheet, step back in a page, or leave it. False at the end."""
        sheet = self.sheet
        if sheet is not None:
            sheet.put_away()
            return True
        if self.page is not None and self.page.back():
            return True
        if len(self._trail) > 1:
            self._trail.pop()
            self._show(*self._trail[-1])
            return True
        tabs = [name for name, info in PAGES.items() if info.tab]
        if self._trail and self._trail[0][0] != tabs[0]:
            self.home(tabs[0])
            return True
        return False

    def _show(self, name: str, what: dict) -> None:
        if self.page is not None:
            self.page.leave()
        for sheet in [child for child in self.children if isinstance(child, Sheet)]:
            self.remove_widget(sheet)
        page = self._pages.get(name)
        if page is None:
            page = page_class(name)(name=name, stage=self, desk=self.desk)
            self._pages[name] = page
        holder = self.ids.holder
        holder.clear_widgets()
        self.page = page
        self.page_name = name
        self.nav_shown = PAGES[name].tab
        page.enter(**what)
        page.refresh()
        holder.add_widget(page)
        self._mark_nav()

    def drop_hidden_pages(self) -> None:
        """Let go of every page that is not shown; each is built anew when it is next wanted."""
        self._pages = {name: page for name, page in self._pages.items() if page is self.page}

    def forget_pages(self) -> None:
        """Build every page anew when next shown (another language, another book)."""
        self._pages.clear()
        self._build_nav()
        if self._trail:
            self._show(*self._trail[-1])

    def every_page(self) -> list[Page]:
        """All pages built so far."""
        return list(self._pages.values())

    def close(self) -> None:
        """End the page on top and keep none: the app closes."""
        if self.page is not None:
            self.page.leave()
        self.hush()
        self.desk.unlisten(self.book_changed)
        self.close_sheet()
        self.ids.holder.clear_widgets()
        self.page = None
        self._pages.clear()

    def book_changed(self) -> None:
        """The desk has a newer book or newer answers."""
        if self.page is not None:
            self.page.refresh()

    @property
    def sheet(self) -> Sheet | None:
        """The sheet on top, or None."""
        return next((child for child in self.children if isinstance(child, Sheet)), None)

    def open_sheet(self, title: str, content, on_close: Callable[[], None] | None = None) -> Sheet:
        """Show `content` in a sheet over the page."""
        sheet = Sheet(title=title)
        sheet.on_close = on_close
        sheet.content = content
        sheet.ids.body.add_widget(content)
        self.add_widget(sheet)
        return sheet

    def close_sheet(self) -> None:
        """Put the sheet on top away, if there is one."""
        if self.sheet is not None:
            self.sheet.put_away()

    def say(self, sentence: str, undo: Callable[[], None] | None = None, warn: bool = False) -> None:
        """Answer an act: a sentence for a few seconds, with an undo key when there is something to undo."""
        self.hush()
        strip = Strip(sentence=sentence, undo=undo, undo_label=_("Undo") if undo else "", warn=warn)
        self._strip = strip
        self.ids.strip_place.add_widget(strip)
        self._strip_event = Clock.schedule_once(
            lambda _dt: self.hush(), STRIP_SECONDS * (2 if undo or warn else 1)
        )

    def hush(self) -> None:
        """Take the strip away."""
        if self._strip_event:
            self._strip_event.cancel()
        self.ids.strip_place.clear_widgets()
        self._strip = None

    def try_act(self, work: Callable[[], None]) -> bool:
        """Do `work`; when it fails with a sentence, show it and return False. Input stays where it is."""
        from tracker.domain.errors import LoomsideError

        try:
            work()
        except LoomsideError as trouble:
            self.say(trouble.sentence, warn=True)
            return False
        return True

    def on_size(self, *_args) -> None:
        look.fit(*Window.size)


load_kv(__file__)
