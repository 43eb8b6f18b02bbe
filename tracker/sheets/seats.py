"""Who sits where across the width: first who, in the order of their seats, then the borders between them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from tracker.domain import team
from tracker.domain.rug import Weaver
from tracker.sheets.places import ask_places
from tracker.sheets.weavers import ask_weaver_name
from tracker.shell.shell import Shell
from tracker.widgets.basics import Column, Key, Text
from tracker.widgets.forms import chip
from tracker.widgets.key_row import KeyRow
from tracker.words import _, number


class SeatsSheet(Column):
    """Weavers are tapped from left to right; each shows her seat's number. Then the width is shared among them."""

    def __init__(
        self,
        shell: Shell,
        weavers: Sequence[Weaver],
        places: team.Places,
        across: int,
        changed: Callable[[team.Places], None],
        added: Callable[[str], Weaver],
    ) -> None:
        super().__init__()
        self.shell, self.weavers, self.before, self.across = shell, list(weavers), places, across
        self.changed, self.added = changed, added
        self.sitting = [who for who, _first, _last in places]
        self.add_widget(
            Text(text=_("Tap who sits at the loom, from left to right as the cartoon is read."), tone="soft")
        )
        self.names = KeyRow()
        self.add_widget(self.names)
        more = Key(text=_("Add a weaver"), icon="plus")
        more.bind(on_release=lambda _key: self.ask_name())
        self.add_widget(more)
        self.onward = Key(text="", role="act", loom=True)
        self.onward.bind(on_release=lambda _key: shell.try_act(self.go_on))
        self.add_widget(self.onward)
        self._show()

    def _show(self) -> None:
        self.names.clear_widgets()
        for weaver in self.weavers:
            seat = self.sitting.index(weaver.id) + 1 if weaver.id in self.sitting else 0
            words = f"{number(seat)} {weaver.name}" if seat else weaver.name
            self.names.add_widget(chip(words, weaver.id, bool(seat), self.toggle, several=True))
        self.onward.text = _("Share out the width") if len(self.sitting) > 1 else _("Done")
        self.onward.disabled = not self.sitting

    def toggle(self, weaver_id: str) -> None:
        """Somebody sits down to the right of the others, or gets up."""
        if weaver_id in self.sitting:
            self.sitting.remove(weaver_id)
        else:
            self.sitting.append(weaver_id)
        self._show()

    def ask_name(self) -> None:
        """Ask for the name of somebody new, who sits down at once."""

        def take(name: str) -> None:
            weaver = self.added(name)
            self.weavers.append(weaver)
            self.toggle(weaver.id)

        ask_weaver_name(self.shell, [weaver.name for weaver in self.weavers], take)

    def go_on(self) -> None:
        """Take who sits there, and let a team share out the width."""
        if [who for who, _first, _last in self.before] == self.sitting:
            places = self.before
        else:
            places = team.share_evenly(self.sitting, self.across)
        self.changed(places)
        self.shell.close_sheet()
        if len(places) > 1:
            names = {weaver.id: weaver.name for weaver in self.weavers}
            ask_places(
                self.shell, names, self.across, places, None, lambda moved, _ahead: self.changed(moved)
            )


def ask_seats(
    shell: Shell,
    weavers: Sequence[Weaver],
    places: team.Places,
    across: int,
    changed: Callable[[team.Places], None],
    added: Callable[[str], Weaver],
) -> SeatsSheet:
    """Open the sheet; `changed` gets the places at every change, `added` enters somebody new."""
    sheet = SeatsSheet(shell, weavers, places, across, changed, added)
    shell.open_sheet(_("Who sits where?"), sheet)
    return sheet
