"""What holds the pages: one page at a time, the bar to the main ones, sheets above, and the strip that answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from kivy.clock import Clock
from kivy.core.window import Window
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.floatlayout import FloatLayout
from kivy.uix.widget import Widget

from tracker.shell.page import Page
from tracker.shell.pages import PageInfo
from tracker.shell.sheet import Sheet
from tracker.shell.toast import Toast
from tracker.widgets.basics import Key, load_kv
from tracker.widgets.look import look
from tracker.words import _

TOAST_SECONDS = 8


class NavKey(Key):
    """A key of the bar to the main pages."""


class Shell(FloatLayout):
    """The root of the window."""

    page = ObjectProperty(None, allownone=True)
    page_name = StringProperty("")
    desk = ObjectProperty(None)
    nav_shown = BooleanProperty(True)

    def __init__(self, desk: Any, pages: Mapping[str, PageInfo], **kwargs: Any) -> None:
        self._infos = pages
        super().__init__(desk=desk, **kwargs)
        self._pages: dict[str, Page] = {}
        self._trail: list[tuple[str, dict[str, Any]]] = []
        self._toast: Toast | None = None
        self._toast_event = None
        self._build_nav()
        look.bind(shape=self._build_nav)
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

    def _mark_nav(self) -> None:
        root = self._trail[0][0] if self._trail else ""
        for key in (child for child in self.ids.nav.children if isinstance(child, NavKey)):
            key.role = "here" if key.value == root else "quiet"

    def open_tab(self, name: str, **what: Any) -> None:
        """Go to a main page and forget the trail behind."""
        self._trail = [(name, what)]
        self._show(name, what)

    def go(self, name: str, **what: Any) -> None:
        """Go to a page; back leads to the present one."""
        self._trail.append((name, what))
        self._show(name, what)

    def replace(self, name: str, **what: Any) -> None:
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
        tabs = [name for name, info in self._infos.items() if info.tab]
        if self._trail and self._trail[0][0] != tabs[0]:
            self.open_tab(tabs[0])
            return True
        return False

    def back_to(self, name: str) -> None:
        """Go back along the trail to a page that lies on it; without one, to the page before."""
        places = [at for at, (page, _what) in enumerate(self._trail[:-1]) if page == name]
        if places:
            self._trail = self._trail[: places[-1] + 1]
            self._show(*self._trail[-1])
        else:
            self.back()

    def _show(self, name: str, what: dict[str, Any]) -> None:
        if self.page is not None:
            self.page.leave()
        for sheet in [child for child in self.children if isinstance(child, Sheet)]:
            self.remove_widget(sheet)
        page = self._pages.get(name)
        if page is None:
            page = self._infos[name].load()(name=name, shell=self, desk=self.desk)
            self._pages[name] = page
        holder = self.ids.holder
        holder.clear_widgets()
        self.page = page
        self.page_name = name
        self.nav_shown = self._infos[name].tab
        page.enter(**what)
        page.refresh()
        holder.add_widget(page)
        self._mark_nav()

    def drop_hidden_pages(self) -> None:
        """Let go of every page that is not shown; each is built anew when it is next wanted."""
        self._pages = {name: page for name, page in self._pages.items() if page is self.page}

    def rebuild_pages(self) -> None:
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
        self.dismiss_toast()
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

    def open_sheet(self, title: str, content: Widget, on_close: Callable[[], None] | None = None) -> Sheet:
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

    def toast(self, sentence: str, undo: Callable[[], None] | None = None, warn: bool = False) -> None:
        """Answer an act: a sentence for a few seconds, with an undo key when there is something to undo."""
        self.dismiss_toast()
        strip = Toast(sentence=sentence, undo=undo, undo_label=_("Undo") if undo else "", warn=warn)
        self._toast = strip
        self.ids.toast_place.add_widget(strip)
        self._toast_event = Clock.schedule_once(
            lambda _dt: self.dismiss_toast(), TOAST_SECONDS * (2 if undo or warn else 1)
        )

    def dismiss_toast(self) -> None:
        """Take the strip away."""
        if self._toast_event:
            self._toast_event.cancel()
        self.ids.toast_place.clear_widgets()
        self._toast = None

    def try_act(self, work: Callable[[], None]) -> bool:
        """Do `work`; when it fails with a sentence, show it and return False. Input stays where it is."""
        from tracker.domain.errors import LoomsideError

        try:
            work()
        except LoomsideError as trouble:
            self.toast(trouble.sentence, warn=True)
            return False
        return True

    def on_size(self, *_args: Any) -> None:
        look.fit(*Window.size)


load_kv(__file__)
