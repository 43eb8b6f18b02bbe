"""Runs the app out of a folder laid out as the phone's package: the text form, the files out, one drawn page."""

from __future__ import annotations

import sys
from pathlib import Path


def main(folder: str, out: str, old_book: str) -> None:
    """Run everything that a missing file or an assertion compiled away would break; print what was made."""
    assert False, "assertions are compiled away on the phone"  # noqa: B011, PT015
    place, target = Path(folder), Path(out)
    sys.path[:] = [str(place / "app"), str(place / "site-packages")] + [
        entry for entry in sys.path if "site-packages" not in entry
    ]
    from tracker import words
    from tracker.command_line.main import main as start
    from tracker.presenters.settings import COUNTRIES, LANGUAGES

    packed = (str(place / "app"), str(place / "site-packages"))
    book = ["--demo", "--day", "2026-11-25"]
    for arguments in (
        ["--text", "--plan"],
        ["--record", str(target / "record.pdf")],
        ["--rows", str(target / "rows.pdf")],
        ["--calendar", str(target / "days.ics")],
        ["--csv", str(target / "tables")],
        ["--screens", str(target), "--only", "home"],
    ):
        if code := start([*book, *arguments]):
            raise SystemExit(f"{arguments}: {code}")
    # A book of the first schema: its migrations are found without their sources.
    if start(["--book", old_book, "--text"]):
        raise SystemExit("the old book was not opened")
    import holidays

    for country in filter(None, COUNTRIES):
        print(
            country,
            *sorted(f"{day} {name}" for day, name in holidays.country_holidays(country, years=2027).items()),
        )
    from datetime import UTC, date, datetime

    from tracker.presenters.settings import country_name

    for language in LANGUAGES:
        words.use_language(language)
        print(
            language,
            country_name("NP"),
            words.day(date(2026, 1, 2)),
            words.clock(datetime(2026, 1, 2, 18, 40, tzinfo=UTC)),
        )
    for name in (
        "kivy",
        "numpy",
        "sqlalchemy",
        "alembic",
        "PIL",
        "fpdf",
        "icalendar",
        "babel",
        "holidays",
        "tracker",
    ):
        origin = str(sys.modules[name].__file__)
        if not origin.startswith(packed):
            raise SystemExit(f"{name} came from {origin}")


if __name__ == "__main__":
    main(*sys.argv[1:])
