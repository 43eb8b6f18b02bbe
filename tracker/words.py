"""The language of the sentences: gettext catalogues, and numbers, dates and units as the locale writes them.

Any layer may import this module; it needs nothing of the app. Wrap every sentence a weaver can read in
`_` (or `n_` for plural forms) with named fields filled by `.format` afterwards.
"""

from __future__ import annotations

import gettext
from pathlib import Path

CATALOGUES = Path(__file__).parent / "catalogues"

_translation: gettext.NullTranslations = gettext.NullTranslations()
_language = "en"


def use_language(language: str) -> None:
    """Speak `language` (a code such as "en") from now on; an unknown one falls back to English."""
    global _translation, _language
    _translation = gettext.translation("loomside", CATALOGUES, languages=[language], fallback=True)
    _language = language


def language() -> str:
    """Return the code of the language in use."""
    return _language


def _(message: str) -> str:
    """Return `message` in the language in use."""
    return _translation.gettext(message)


def n_(one: str, many: str, count: int) -> str:
    """Return the form of the message that goes with `count`."""
    return _translation.ngettext(one, many, count)
