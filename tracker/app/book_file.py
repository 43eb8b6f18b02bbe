"""The book's file behind the desk's port."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from storage import diary, history, reading, writers
from storage.book import Book
from tracker.domain.history import Entry, PastVersion
from tracker.domain.loom import Loom
from tracker.domain.lot_moves import LotMove
from tracker.domain.rug import Lot, RugBook, RugPlan, Weaver, Yarn


class BookFile(Book):
    """An open book's file that answers as `book_port.BookPort`."""

    def rugs(self) -> tuple[RugPlan, ...]:
        """Return the plans of all rugs, in the order in which they were entered."""
        return reading.rugs(self)

    def yarns(self) -> tuple[Yarn, ...]:
        """Return the yarns of all rugs."""
        return reading.yarns(self)

    def lots(self) -> tuple[Lot, ...]:
        """Return what was bought for all rugs, as it was bought."""
        return reading.lots(self)

    def lot_moves(self) -> tuple[LotMove, ...]:
        """Return every move of yarn between rugs and the shelf."""
        return reading.lot_moves(self)

    def looms(self) -> tuple[Loom, ...]:
        """Return all looms, in the order in which they were entered."""
        return reading.looms(self)

    def weavers(self) -> tuple[Weaver, ...]:
        """Return everybody who sits at the loom, in the order in which they were entered."""
        return reading.weavers(self)

    def settings(self) -> dict[str, Any]:
        """Return all settings by their key."""
        return reading.settings(self)

    def rug_book(self, rug_id: str, with_cartoon: bool = True) -> RugBook:
        """Return everything about one rug."""
        return reading.rug_book(self, rug_id, with_cartoon)

    def history(self, record_id: str) -> tuple[PastVersion, ...]:
        """Return every version of an entry, the newest first."""
        return history.versions_of(self, record_id)

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
        return diary.entries(self, rug_id, text, kinds, limit, offset, folded, mended_in_place)

    def entry(self, act_id: str) -> Entry | None:
        """Return one act as the diary tells it; None when it is not in the book."""
        return diary.entry(self, act_id)

    def diary_count(
        self,
        rug_id: str | None = None,
        text: str = "",
        kinds: Collection[str] | None = None,
        folded: bool = False,
        mended_in_place: bool = False,
    ) -> int:
        """Return how many acts `diary` would tell of without a limit."""
        return diary.count(self, rug_id, text, kinds, folded, mended_in_place)

    def phone_name(self) -> str:
        """Return what this phone is called."""
        return writers.device(self).name
