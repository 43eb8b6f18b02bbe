"""Nothing of the app is there for tests alone: what no line of it reaches is used or taken out."""

from __future__ import annotations

from tests.source.unused import Piece, unreached

KIVY = "Kivy calls it"
ALLOWED = {
    "tracker.app.app.FAULTS_WITHIN_S": "with `handle_exception`",
    "tracker.app.app._Survivor.handle_exception": KIVY,
    "tracker.files.regular._Held.readable": "the standard library's readers call it",
    "tracker.files.regular._Held.readinto": "the standard library's readers call it",
    "tracker.files.regular._Held.seekable": "the standard library's readers call it",
    "tracker.screens.diary.diary.DiaryRow.refresh_view_attrs": KIVY,
    "tracker.screens.diary.diary.EvenRows.get_view_index_at": KIVY,
    "tracker.shell.shell.Shell.every_page": "tests see by it that pages are let go",
    "tracker.theme.EDGE_CONTRAST": "a promise of the theme that tests hold",
    "tracker.theme.GROUNDS_OF_TEXT": "a promise of the theme that tests hold",
    "tracker.theme.TEXT_CONTRAST": "a promise of the theme that tests hold",
    "tracker.widgets.basics.Column._iterate_layout": KIVY,
    "tracker.widgets.entry.Entry._adjust_viewport": KIVY,
    "tracker.widgets.plain_label.Typeset.get_cached_extents": KIVY,
    "tracker.widgets.plain_label.EvenLines.get_cached_extents": KIVY,
    "tracker.widgets.look.Look.followers": "tests see by it that widgets are let go",
    "tracker.widgets.look.Look.property": KIVY,
    "tracker.widgets.look.Look.unbind_uid": KIVY,
    "tracker.widgets.laid_out.Waiting.is_triggered": KIVY,
}
"""What only tests and libraries call, each with the reason why it stays."""


def _left() -> dict[str, Piece]:
    return {str(piece): piece for piece in unreached()}


def test_every_line_is_there_for_the_app() -> None:
    left = {name: piece for name, piece in _left().items() if name not in ALLOWED}
    assert not left, "no line of the app reaches " + ", ".join(
        f"{name} ({piece.lines} lines)" for name, piece in left.items()
    )


def test_what_is_allowed_to_stay_is_still_there_and_unused() -> None:
    assert set(ALLOWED) <= set(_left())
