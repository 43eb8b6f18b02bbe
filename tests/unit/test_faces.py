"""Letters that the app's own type lacks are drawn in another face, or it is known that they cannot be."""

from __future__ import annotations

import re
from importlib.util import find_spec
from pathlib import Path

import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

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


def a_face(path: Path, letters: str, weight: int = 400) -> None:
    """Make a small typeface that has the letters."""
    names = [f"letter{ord(letter)}" for letter in letters]
    font = FontBuilder(1000, isTTF=True)
    font.setupGlyphOrder([".notdef", *names])
    font.setupCharacterMap(dict(zip(map(ord, letters), names, strict=True)))
    glyph = TTGlyphPen(None).glyph()
    font.setupGlyf(dict.fromkeys([".notdef", *names], glyph))
    font.setupHorizontalMetrics(dict.fromkeys([".notdef", *names], (500, 0)))
    font.setupHorizontalHeader(ascent=800, descent=-200)
    font.setupOS2(usWeightClass=weight)
    font.font["OS/2"].recalcUnicodeRanges(font.font)
    font.setupPost()
    font.save(path)


@pytest.fixture
def on_the_phone(tmp_path, monkeypatch):
    """A phone whose only typefaces are those that a test lays into its folder."""
    monkeypatch.setattr(faces, "FOLDERS", (str(tmp_path),))
    known = (faces.system_faces, faces.face_for, faces.letters_of)
    for one in known:
        one.cache_clear()
    yield tmp_path
    for one in known:
        one.cache_clear()


def test_letters_of_east_asia_are_drawn_where_the_phone_has_a_face_for_them(on_the_phone) -> None:
    a_face(on_the_phone / "latin.ttf", "abc")
    (on_the_phone / "damaged.ttf").write_bytes(b"no typeface at all")
    assert face_for("毛毯") == (None, False)
    faces.system_faces.cache_clear()
    face_for.cache_clear()
    (on_the_phone / "more").mkdir()
    a_face(on_the_phone / "more" / "a heavy one.ttf", "毛毯", weight=900)
    a_face(on_the_phone / "more" / "one letter.ttf", "毛")
    a_face(on_the_phone / "more" / "plain.ttf", "毛毯")
    assert face_for("毛毯") == (on_the_phone / "more" / "plain.ttf", True)
    # A letter that no face there has.
    assert face_for("毛毯織") == (None, False)


def test_typefaces_are_looked_for_where_kivy_looks_for_them() -> None:
    kivy = find_spec("kivy")
    assert kivy is not None
    source = (Path(kivy.origin).parent / "core" / "text" / "__init__.py").read_text(encoding="utf-8")
    looks = source[source.index("def get_system_fonts_dir") : source.index("fdirs.append(")]
    theirs = set(re.findall(r"'([/~][^']+)'", looks))
    assert len(theirs) > 5
    assert theirs <= set(faces.FOLDERS)
    assert "SYSTEMROOT" in looks
    assert "%SYSTEMROOT%/Fonts" in faces.FOLDERS
