"""What the desk asks of an open book: the one opening between it and storage, so that it runs on a book in memory, too.

What needs the book's file itself (copies, files for another phone, a rescue) is no part of it: `beside_book` does that.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Protocol, Self

if TYPE_CHECKING:
    from tracker.domain.history import Entry, PastVersion, Undone
    from tracker.domain.loom import Loom
    from tracker.domain.lot_moves import LotMove
    from tracker.domain.rug import Lot, RugBook, RugPlan, Weaver, Yarn


class ActPort(Protocol):
    """One act while it is gathered; the end of its `with` block writes all of it, or raises and writes nothing."""

    act_id: str
    stored: bool
    """Whether it was written: False after a block that changed nothing."""

    def write(self, value: object) -> None:
        """Enter a value, or a correction of the one with the same id; raise BadEntry for one that cannot be."""

    def withdraw(self, record_id: str) -> None:
        """Take a record out."""

    def __enter__(self) -> Self:
        """Begin."""

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Write the act, unless the block raised."""


class BookPort(Protocol):
    """An open book. Every method may raise BookTrouble with a sentence."""

    device_id: str

    @property
    def notice(self) -> str:
        """What the weaver has to know of a book that can only be read now; empty: it can be written."""

    def rugs(self) -> tuple[RugPlan, ...]:
        """Return the plans of all rugs, in the order in which they were entered."""

    def yarns(self) -> tuple[Yarn, ...]:
        """Return the yarns of all rugs."""

    def lots(self) -> tuple[Lot, ...]:
        """Return what was bought for all rugs, as it was bought."""

    def lot_moves(self) -> tuple[LotMove, ...]:
        """Return every move of yarn between rugs and the shelf."""

    def looms(self) -> tuple[Loom, ...]:
        """Return all looms, in the order in which they were entered."""

    def weavers(self) -> tuple[Weaver, ...]:
        """Return everybody who sits at the loom, in the order in which they were entered."""

    def settings(self) -> dict[str, Any]:
        """Return all settings by their key."""

    def rug_book(self, rug_id: str, with_cartoon: bool = True) -> RugBook:
        """Return everything about one rug; raise BookTrouble when there is no such rug."""

    def history(self, record_id: str) -> tuple[PastVersion, ...]:
        """Return every version of an entry, the newest first; raise BookTrouble when there is no such entry."""

    def diary(
        self,
        rug_id: str | None = None,
        text: str = "",
        kinds: Collection[str] | None = None,
        limit: int = 50,
        offset: int = 0,
        folded: bool = False,
        mended_in_place: bool = False,
    ) -> tuple[Entry, ...]:
        """Return acts, the newest first, each with what it changed; `folded` without what another act among them deleted.

        `mended_in_place`: without what was put right of an entry whose own act is among them.
        """

    def entry(self, act_id: str) -> Entry | None:
        """Return one act as the diary tells it; None when it is not in the book."""

    def diary_count(
        self,
        rug_id: str | None = None,
        text: str = "",
        kinds: Collection[str] | None = None,
        folded: bool = False,
        mended_in_place: bool = False,
    ) -> int:
        """Return how many acts `diary` would tell of without a limit."""

    def phone_name(self) -> str:
        """Return what this phone is called."""

    def act(self, kind: str, rug_id: str | None = None) -> ActPort:
        """Return an act to be used in a `with` block."""

    def undo(self, act_id: str) -> Undone:
        """Take an act back by a new one; records that a later act changed are left and reported."""

    def close(self) -> None:
        """Close the book; twice does no harm."""


Opener = Callable[[Path, str, bool], BookPort]
"""Opens the book at a path for a phone of a name, as it is (True) though acts are missing that it once held."""


def open_file(path: Path, device_name: str, as_it_is: bool) -> BookPort:
    """Open the book's file; SQLAlchemy is imported only now, after the first view was shown."""
    from tracker.app.book_file import BookFile

    return BookFile.open(path, device_name=device_name, as_it_is=as_it_is)
