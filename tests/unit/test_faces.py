"""Letters that the app's own type lacks are drawn in another face, or it is known that they cannot be."""

from __future__ import annotations

import pytest

from tracker.files import faces
from tracker.files.faces import BEYOND, OWN, face_for, letters_of, wide_face


def test_what_the_quick_look_lets_pass_is_in_the_apps_own_type() -> None:
    passed = {code for code in range(0x20, 0x2300) if not BEYOND.match(chr(code)) and not 0x7F <= code < 0xA0}
    assert passed - letters_of(OWN) == set()


@pytest.mark.parametrize(
    ("text", "in_wide", "whole"),
    [
        ("Ayşe’nin halısı, 2 × 3 m", False, True),
        ("Ўзбек", False, True),
        ("Ayşe ✓ 😀", True, True),
        # Drawn letter by letter from left to right this would be no word.
        ("قالی", True, False),
        ("हिन्दी", False, False),
    ],
)
def test_a_text_is_drawn_in_the_first_face_that_has_all_its_letters(
    text: str, in_wide: bool, whole: bool
) -> None:
    assert face_for(text) == (wide_face() if in_wide else None, whole)


def test_letters_of_east_asia_are_drawn_where_the_phone_has_a_face_for_them(monkeypatch) -> None:
    monkeypatch.setattr(faces, "others", lambda: ())
    face_for.cache_clear()
    assert face_for("毛毯") == (None, False)
    there = OWN.with_name("Lato-Bold.ttf")
    monkeypatch.setattr(faces, "others", lambda: (there,))
    monkeypatch.setattr(
        faces, "letters_of", lambda path: frozenset({0x6BDB, 0x6BEF}) if path == there else frozenset()
    )
    face_for.cache_clear()
    assert face_for("毛毯") == (there, True)
    face_for.cache_clear()
