"""The words of other languages: complete, with every field, and as the compiled catalogues say them."""

from __future__ import annotations

import gettext
import re
import string
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path

import pytest
from babel import Locale
from babel.messages.catalog import Catalog
from babel.messages.catalog import Message as Entry
from babel.messages.pofile import read_po

from tracker import words
from tracker.catalogues.make import (
    HERE,
    LANGUAGES,
    ROOT,
    compiled,
    po_path,
    read_catalog,
    template,
    untranslated,
)

MARKUP = re.compile(
    r"\[/?(b|i|u|s|sub|sup|font|size|color|ref|anchor|font_family|font_context|font_features|text_language)\b"
)
"""Tags of Kivy's text markup; names that a weaver types are shown beside the messages, so markup stays off."""


@pytest.fixture(autouse=True)
def _english_again() -> Iterator[None]:
    yield
    words.use_language("en")


@pytest.fixture(scope="module")
def sources() -> Catalog:
    return template()


@pytest.fixture(scope="module", params=LANGUAGES)
def catalog(request: pytest.FixtureRequest) -> Catalog:
    return read_catalog(request.param)


def entries(catalog: Catalog) -> list[Entry]:
    return [entry for entry in catalog if entry.id]


def ids(catalog: Catalog) -> set[str | tuple[str, ...]]:
    return {tuple(e.id) if isinstance(e.id, list | tuple) else e.id for e in entries(catalog)}


def forms(value: str | list[str] | tuple[str, ...] | None) -> tuple[str, ...]:
    return (value,) if isinstance(value, str) else tuple(value or ())


def fields(text: str) -> set[tuple[str, str]]:
    """Return the fields of a message with the format each is written in."""
    return {
        (name, spec or "")
        for _text, name, spec, _conversion in string.Formatter().parse(text)
        if name is not None
    }


def pairs(catalog: Catalog) -> list[tuple[str, str]]:
    """Return every message with its translation, plural forms one by one."""
    return [pair for e in entries(catalog) for pair in zip(forms(e.id), forms(e.string), strict=True)]


def test_every_message_of_the_app_is_in_the_catalogue_and_none_is_left_over(
    sources: Catalog, catalog: Catalog
) -> None:
    assert ids(sources) - ids(catalog) == set(), "run: python -m tracker.catalogues.make"
    assert ids(catalog) - ids(sources) == set(), "run: python -m tracker.catalogues.make"


def test_the_template_is_as_the_sources_are(sources: Catalog) -> None:
    with (HERE / "loomside.pot").open("rb") as file:
        assert ids(read_po(file)) == ids(sources), "run: python -m tracker.catalogues.make"


def test_the_gatherer_sees_plain_plural_marked_and_kv_messages(sources: Catalog) -> None:
    found = ids(sources)
    assert "{number} kg" in found
    assert ("{count} ball", "{count} balls") in found
    assert "Finish" in found  # marked in a table, translated where it is shown
    assert "Log the session" in found  # only in a kv file


def test_every_message_is_translated(catalog: Catalog) -> None:
    assert untranslated(catalog) == []
    assert not [e.id for e in entries(catalog) if e.fuzzy]


def test_a_translation_has_the_fields_of_its_message_and_no_others(catalog: Catalog) -> None:
    assert [pair for pair in pairs(catalog) if fields(pair[0]) != fields(pair[1])] == []


def test_a_translation_begins_and_ends_like_its_message(catalog: Catalog) -> None:
    def edges(text: str) -> tuple[bool, ...]:
        bare = text.strip()
        return (text[:1] == " ", text[-1:] == " ", bare.endswith((".", ":", "?", "!")), bare.endswith("…"))

    assert [pair for pair in pairs(catalog) if edges(pair[0]) != edges(pair[1])] == []


def test_no_message_carries_kivy_markup(catalog: Catalog) -> None:
    assert [pair for pair in pairs(catalog) if any(MARKUP.search(text) for text in pair)] == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_compiled_catalogue_is_the_written_one(language: str) -> None:
    catalog = read_catalog(language)
    assert po_path(language).with_suffix(".mo").read_bytes() == compiled(catalog)
    with po_path(language).with_suffix(".mo").open("rb") as file:
        spoken = gettext.GNUTranslations(file)
    said = [(e.id, spoken.gettext(e.id)) for e in entries(catalog) if isinstance(e.id, str)]
    assert said == [(e.id, e.string) for e in entries(catalog) if isinstance(e.id, str)]


def test_turkish_has_two_plural_forms() -> None:
    """As the Unicode CLDR data in babel have it: "one" for n = 1, "other" otherwise."""
    turkish = read_catalog("tr")
    assert turkish.num_plurals == 2
    assert turkish.plural_expr.strip("()").replace(" ", "") == "n!=1"
    rule = Locale("tr").plural_form
    assert [rule(n) for n in (0, 1, 2, 11, 21)] == ["other", "one", "other", "other", "other"]


def test_turkish_writes_the_percent_sign_before_the_number() -> None:
    """As the Unicode CLDR data in babel have it."""
    assert Locale("tr").percent_formats[None].pattern.startswith("%")
    behind = [said for _id, said in pairs(read_catalog("tr")) if re.search(r"[\d}][\s\u00a0]?%", said)]
    assert behind == []


def test_no_field_of_a_turkish_sentence_takes_a_suffix() -> None:
    """A suffix follows the vowels of the word before it, which a field does not know."""
    assert [said for _id, said in pairs(read_catalog("tr")) if re.search(r"\}[’'a-zçğıöşüA-Z]", said)] == []


def test_turkish_numbers_dates_and_units() -> None:
    words.use_language("tr")
    assert words.percent(0.573) == "%57"
    assert words.mass(1250) == "1,25 kg"
    assert words.mass(340) == "340 g"
    assert words.hours(2.5) == "2,5 sa"
    assert words.number(12345.6, 1) == "12.345,6"
    assert words.decimal_sign() == ","
    assert words.day(date(2027, 1, 5)) == "5 Ocak 2027"
    assert words.day(date(2027, 1, 5), date(2027, 3, 1)) == "5 Ocak"
    assert words.weekday(date(2026, 11, 25)) == "Çarşamba"
    assert words.month(date(2027, 1, 5)) == "Ocak 2027"
    assert words.clock(datetime(2026, 11, 25, 18, 40)) == "18:40"  # noqa: DTZ001 - the clock on the wall
    assert words.one_after_another(["çözgü", "atkı", "hav"]) == "çözgü, atkı ve hav"


def test_turkish_words_of_the_trade() -> None:
    words.use_language("tr")
    said = [
        words._(w)
        for w in ("Rug", "Row", "Yarn", "Finish", "Diary", "Warp", "Pile", "Fringe", "Knot", "Save", "Undo")
    ]
    assert said == [
        "Halı",
        "Sıra",
        "İplik",
        "Bitiş",
        "Günlük",
        "Çözgü",
        "Hav",
        "Saçak",
        "Düğüm",
        "Kaydet",
        "Geri al",
    ]


def test_turkish_plurals_follow_the_count() -> None:
    words.use_language("tr")
    assert words.n_("{count} ball", "{count} balls", 3).format(count=3) == "3 yumak"
    assert words.n_("every minute", "every {minutes} minutes", 1) == "her dakika"
    assert words.n_("every minute", "every {minutes} minutes", 5).format(minutes=5) == "5 dakikada bir"


def test_an_unknown_language_falls_back_to_english() -> None:
    for unknown in ("xx", "", "tr/../tr", "xx-YY-zz", "😀"):
        words.use_language(unknown)
        assert words._("Row") == "Row"
        assert words.number(1234.5, 1) == "1,234.5"


def test_every_sentence_in_a_kv_file_is_wrapped() -> None:
    bare = re.compile(
        r"^\s*\w*(?:text|title|label|hint|words|answer|empty|sentence)\w*:\s*f?['\"][^'\"]*[A-Za-z]{2}"
    )
    found = [
        (path.name, number, line.strip())
        for path in sorted((ROOT / "tracker").rglob("*.kv"))
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if bare.search(line)
    ]
    assert found == []


def test_catalogues_are_carried_in_the_package() -> None:
    import tomllib

    data = tomllib.loads((Path(ROOT) / "pyproject.toml").read_text("utf-8"))
    assert "*.mo" in data["tool"]["setuptools"]["package-data"]["*"]
