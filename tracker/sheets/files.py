"""Chooses a picture: the phone's own chooser where there is one, else a plain list of folders and pictures."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from kivy.metrics import dp
from kivy.properties import ObjectProperty, StringProperty

from tracker.device import files
from tracker.shell.shell import Shell
from tracker.widgets.basics import Column, Icon, Key, RowKey, Text
from tracker.widgets.look import look
from tracker.words import _, n_, number

ENDINGS = (".png", ".gif", ".bmp", ".jpg", ".jpeg", ".webp")
CARTOON_ENDINGS = (*ENDINGS, ".tif", ".tiff")
"""Pictures a cartoon may be read from: scanners write TIFF."""
FIRST = 40
"""Lines shown at once; more on request, so that a folder with thousands of photos opens at once."""


@dataclass(frozen=True, slots=True)
class Found:
    """What lies in one folder."""

    folder: Path
    folders: tuple[Path, ...]
    pictures: tuple[tuple[Path, int], ...]
    """(path, bytes), the newest first."""
    trouble: str = ""


def look_into(folder: Path, endings: tuple[str, ...] = ENDINGS) -> Found:
    """Return the folders and pictures (or other files with these endings) in a folder; hidden ones are left out."""
    folders: list[Path] = []
    pictures: list[tuple[float, Path, int]] = []
    try:
        with os.scandir(folder) as entries:
            for entry in entries:
                if entry.name.startswith("."):
                    continue
                try:
                    if entry.is_dir():
                        folders.append(Path(entry.path))
                    elif entry.name.lower().endswith(endings):
                        stat = entry.stat()
                        pictures.append((stat.st_mtime, Path(entry.path), stat.st_size))
                except OSError:
                    continue
    except OSError:
        return Found(folder, (), (), _("This folder cannot be opened. Choose another one."))
    folders.sort(key=lambda path: path.name.casefold())
    pictures.sort(key=lambda picture: (-picture[0], picture[1].name.casefold()))
    return Found(folder, tuple(folders), tuple((path, size) for _time, path, size in pictures))


def bytes_words(size: int) -> str:
    """Return a file's size as people say it."""
    if size < 1_000_000:
        return _("{number} kB").format(number=number(max(1, size / 1000)))
    return _("{number} MB").format(number=number(size / 1_000_000, 1))


class FileLine(RowKey):
    """One folder or picture."""

    path = ObjectProperty(None)
    text = StringProperty("")

    def __init__(self, icon: str, name: str, note: str, **kwargs: Any) -> None:
        super().__init__(text=name, **kwargs)
        self.add_widget(Icon(name=icon, side=26, pos_hint={"center_y": 0.5}))
        words = Column(spacing=0, pos_hint={"center_y": 0.5})
        words.add_widget(Text(text=name, strong=bool(note)))
        if note:
            words.add_widget(Text(text=note, style="small", tone="soft"))
        self.add_widget(words)


class FileList(Column):
    """The folders and pictures of one folder at a time."""

    done = ObjectProperty(None)
    folder = ObjectProperty(None)
    endings = ObjectProperty(ENDINGS)
    icon = StringProperty("photo")
    nothing = StringProperty("")
    """Said where a folder holds nothing to choose; "": about pictures."""

    def on_folder(self, *_args: Any) -> None:
        """Show another folder."""
        self.show(FIRST)

    def show(self, most: int) -> None:
        """Fill the list with at most so many lines."""
        self.clear_widgets()
        listing = look_into(self.folder, self.endings)
        places = [place for place in files.picture_folders() if place != self.folder]
        self.add_widget(Text(text=str(self.folder), style="small", tone="soft"))
        if listing.trouble:
            self.add_widget(Text(text=listing.trouble, tone="madder"))
        lines: list[tuple[str, str, str, Path]] = []
        if self.folder.parent != self.folder:
            lines.append(
                (
                    "up",
                    _("Up to {folder}").format(folder=self.folder.parent.name or "/"),
                    "",
                    self.folder.parent,
                )
            )
        lines += [(self.icon, path.name, bytes_words(size), path) for path, size in listing.pictures]
        lines += [("shelf", path.name, "", path) for path in listing.folders]
        if not listing.pictures and not listing.trouble:
            self.add_widget(Text(text=self.nothing or _("No pictures here. Open another folder.")))
            lines += [("place", place.name or str(place), "", place) for place in places]
        for icon, name, note, path in lines[:most]:
            line = FileLine(icon, name, note, path=path)
            line.bind(on_release=self._tapped)
            self.add_widget(line)
        if len(lines) > most:
            left = len(lines) - most
            more = Key(
                text=n_("Show {count} more", "Show {count} more", left).format(count=number(left)),
                icon="down",
            )
            more.bind(on_release=lambda _key: self.show(most + 400))
            self.add_widget(more)

    def _tapped(self, line: FileLine) -> None:
        if line.path.is_dir():
            self.folder = line.path
        else:
            self.done(line.path)


def ask_picture(
    shell: Shell, title: str, done: Callable[[Path], None], endings: tuple[str, ...] = ENDINGS
) -> FileList | None:
    """Ask for a picture; `done` gets its path, on the touch thread. The last folder is remembered."""
    desk = shell.desk
    if files.has_chooser():
        files.choose_picture(lambda path: desk.post(lambda: done(path)) if path is not None else None)
        return None

    def finish(path: Path) -> None:
        desk.drafts.put("picture folder", str(path.parent))
        shell.close_sheet()
        done(path)

    last_folder = Path(str(desk.drafts.get("picture folder") or ""))
    start = last_folder if last_folder.is_absolute() and last_folder.is_dir() else files.picture_folders()[0]
    sheet = FileList(done=finish, endings=endings, spacing=dp(4) if look.text_scale < 1.5 else look.gap)
    sheet.folder = start
    shell.open_sheet(title, sheet)
    return sheet


def ask_file(
    shell: Shell,
    title: str,
    done: Callable[[Path], None],
    *,
    endings: tuple[str, ...],
    nothing: str,
    draft: str,
) -> FileList | None:
    """Ask for a file with one of these endings; `done` gets its path, on the touch thread.

    Parameters
    ----------
    nothing
        What a folder without such a file says.
    kept
        Name of the draft in which the last folder is remembered.
    """
    desk = shell.desk
    if files.has_chooser():
        files.choose_file(lambda path: desk.post(lambda: done(path)) if path is not None else None)
        return None

    def finish(path: Path) -> None:
        desk.drafts.put(draft, str(path.parent))
        shell.close_sheet()
        done(path)

    last = Path(str(desk.drafts.get(draft) or ""))
    start = last if last.is_absolute() and last.is_dir() else files.shared_folder()
    sheet = FileList(
        done=finish,
        endings=endings,
        icon="join",
        nothing=nothing,
        spacing=dp(4) if look.text_scale < 1.5 else look.gap,
    )
    sheet.folder = start
    shell.open_sheet(title, sheet)
    return sheet
