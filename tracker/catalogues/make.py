"""Gathers the app's messages, brings the catalogues up to date, and compiles them.

Run: python -m tracker.catalogues.make. It reads every .py and .kv file of tracker/ and storage/, rewrites
loomside.pot, merges new messages into each LANGUAGE/LC_MESSAGES/loomside.po and compiles it to loomside.mo.
"""

from __future__ import annotations

import ast
import io
import re
from collections.abc import Iterator
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
HEADER = "# Words of Loomside. Made by: python -m tracker.catalogues.make"
LANGUAGES = ("tr",)
KEYWORDS: dict[str, tuple[int, ...] | None] = {"_": None, "n_": (1, 2), "mark": None}
QUOTED = r"""('(?:[^'\\\n]|\\.)*'|"(?:[^"\\\n]|\\.)*")"""
IN_KV = re.compile(r"(?<![\w.])_\(\s*" + QUOTED + r"\s*\)")
PLURAL_IN_KV = re.compile(r"(?<![\w.])n_\(\s*" + QUOTED + r"\s*,\s*" + QUOTED + r"\s*,")

HEADER_FIELDS = {
    "project": "Loomside",
    "version": "1",
    "last_translator": "Loomside",
    "language_team": "Loomside",
}

Message = str | tuple[str, ...]


def messages_in(path: Path) -> Iterator[tuple[int, Message]]:
    """Yield (line number, message) of one source file; a plural message is a pair."""
    if path.suffix == ".py":
        for line, message, _comments, _context in extract(
            "python", io.BytesIO(path.read_bytes()), keywords=KEYWORDS
        ):
            yield line, message
        return
    for line, text in enumerate(path.read_text("utf-8").splitlines(), 1):
        for match in PLURAL_IN_KV.finditer(text):
            yield line, (ast.literal_eval(match[1]), ast.literal_eval(match[2]))
        for match in IN_KV.finditer(text):
            yield line, ast.literal_eval(match[1])


def template() -> Catalog:
    """Return a catalogue of every message in the app."""
    catalog = Catalog(project="Loomside", fuzzy=False, charset="utf-8", header_comment=HEADER)
    for folder in ("tracker", "storage"):
        for path in sorted((ROOT / folder).rglob("*")):
            if path.suffix in (".py", ".kv"):
                for _line, message in messages_in(path):
                    catalog.add(message, locations=[(path.relative_to(ROOT).as_posix(), 0)])
    return catalog


def po_path(language: str) -> Path:
    """Return the file of a language's words."""
    return HERE / language / "LC_MESSAGES" / "loomside.po"


def read_catalog(language: str) -> Catalog:
    """Return a language's catalogue; an empty one when there is none yet."""
    path = po_path(language)
    if not path.exists():
        return Catalog(locale=language, project="Loomside", fuzzy=False, header_comment=HEADER)
    with path.open("rb") as file:
        return read_po(file, locale=language)


def compiled(catalog: Catalog) -> bytes:
    """Return a catalogue as gettext reads it at run time."""
    out = io.BytesIO()
    write_mo(out, catalog)
    return out.getvalue()


def untranslated(catalog: Catalog) -> list[Message]:
    """Return the messages that lack a translation, or one of its plural forms."""
    lacking: list[Message] = []
    for message in catalog:
        if message.id:
            said = message.string if isinstance(message.string, tuple | list) else (message.string,)
            if not all(said):
                lacking.append(message.id if isinstance(message.id, str) else tuple(message.id))
    return lacking


def main() -> None:
    """Bring every catalogue up to date and say what is still to translate."""
    messages = template()
    with (HERE / "loomside.pot").open("wb") as file:
        write_po(file, messages, width=100, omit_header=False, include_lineno=False, sort_output=True)
    for language in LANGUAGES:
        catalog = read_catalog(language)
        catalog.update(messages, no_fuzzy_matching=True)
        catalog.obsolete.clear()
        for name, value in HEADER_FIELDS.items():
            setattr(catalog, name, value)
        path = po_path(language)
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("wb") as file:
            write_po(file, catalog, width=100, include_lineno=False, sort_output=True)
        path.with_suffix(".mo").write_bytes(compiled(catalog))
        lacking = untranslated(catalog)
        print(f"{language}: {len(catalog)} messages, {len(lacking)} still to translate")
        for message in lacking[:20]:
            print("  ", message)


if __name__ == "__main__":
    main()
