"""A ball noted as used up, or a bare note, is no evening at the loom."""

from datetime import date

from tests.presenters.rugs import book, session
from tests.today import TODAY
from tracker.forecast.outlook import outlook


def test_a_note_without_rows_or_hours_moves_no_date() -> None:
    evenings = [session(number, 4 + number % 3) for number in range(1, 16)]
    note = session(
        20, 0, None, day=date(2026, 11, 21), used=(("red", 0.0),), note="A ball fell into the tea."
    )
    without = outlook(book(*evenings), TODAY)
    with_note = outlook(book(*evenings, note), TODAY)
    assert with_note.finish == without.finish
    assert with_note.basis.sessions == 15
    assert with_note.where == without.where
