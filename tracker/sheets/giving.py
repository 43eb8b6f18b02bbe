"""Where a file that was made for others goes on a phone: into the share sheet, or to a place the weaver chooses."""

from __future__ import annotations

import zipfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from tracker.device import files
from tracker.domain.errors import BookTrouble
from tracker.sheets.asking import ask_choice
from tracker.words import _, one_after_another


def _nothing() -> None:
    """Do nothing."""


def zipped(paths: Sequence[Path], target: Path) -> Path:
    """Put files into one; return its path.

    Raises
    ------
    BookTrouble
        There is no room for it; nothing is left behind.
    """
    try:
        with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
            for path in paths:
                archive.write(path, path.name)
    except OSError as trouble:
        target.unlink(missing_ok=True)
        raise BookTrouble(
            _("There is no room left for the file. Make some room, then try again.")
        ) from trouble
    return target


def save_each(
    shell: Any, paths: Sequence[Path], told: Callable[[str, str], None], given: Callable[[], None] = _nothing
) -> None:
    """Ask of one file after another where it shall lie; the first that is not kept ends it."""
    left = list(paths)
    names: list[str] = []

    def ended(saved: bool | None) -> None:
        if saved:
            names.append(left.pop(0).name)
        if saved and left:
            files.save_as(left[0], answered)
        elif saved is False:
            told(
                "madder",
                _("{name} could not be saved there. Choose another place.").format(name=left[0].name),
            )
        elif names:
            given()
            told("green", _("Saved: {name}").format(name=one_after_another(names)))
        else:
            told("soft", _("Not saved: no place was chosen."))

    def answered(saved: bool | None) -> None:
        shell.desk.post(lambda: ended(saved))

    files.save_as(left[0], answered)


def give(
    shell: Any, paths: Sequence[Path], told: Callable[[str, str], None], given: Callable[[], None] = _nothing
) -> None:
    """Open the share sheet with files."""
    try:
        opened = files.give(paths, _("Give {name}").format(name=paths[0].name))
    except BookTrouble as trouble:
        told("madder", trouble.sentence)
        return
    if opened:
        given()
        told("soft", _("Handed over. The person or app you chose has a copy."))
    else:
        told("madder", _("No app of this phone takes it. Save it instead."))


def offer(
    shell: Any,
    paths: Sequence[Path],
    name: str,
    told: Callable[[str, str], None],
    given: Callable[[], None] = _nothing,
) -> None:
    """Ask whether files shall be given or saved, and do it.

    Parameters
    ----------
    name
        What they are called together: the zip file's name, without its ending, when they are several.
    told
        Gets a tone and a sentence on how it ended; not called when the weaver puts the question away.
    """

    def one() -> list[Path]:
        return [zipped(paths, paths[0].parent / f"{name}.zip")] if len(paths) > 1 else list(paths)

    def chosen(way: str) -> None:
        try:
            taken = list(paths) if way.endswith("each") else one()
        except BookTrouble as trouble:
            told("madder", trouble.sentence)
            return
        if way.startswith("give"):
            give(shell, taken, told, given)
        else:
            save_each(shell, taken, told, given)

    ways = [(_("Give it to a phone or an app"), "give"), (_("Save it as a file"), "save")]
    if len(paths) > 1:
        ways = [
            (_("Give one zip file"), "give"),
            (_("Give each file"), "give each"),
            (_("Save one zip file"), "save"),
            (_("Save each file"), "save each"),
        ]
    ask_choice(shell, name, ways, chosen)
