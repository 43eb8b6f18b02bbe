"""The first view as it was last shown, kept beside the book: shown at the next start before the book is opened."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tracker.domain.rug import RugBook
    from tracker.forecast.answers import Answers


class LastView:
    """The view kept beside one book."""

    def __init__(self, book_path: Path) -> None:
        self._book_path = book_path
        self._path = book_path.with_name(book_path.name + ".view")

    def read(self, ground: str, wished_rug: object) -> Any:
        """Return the view, when there is a picture for this ground, of this rug, and the book still holds just that; otherwise None."""
        from storage.fingerprint import glance
        from tracker.app.first_view import kept
        from tracker.words import language

        view = kept(self._path)
        if view is None or view.language != language() or ground not in view.pictures:
            return None
        if wished_rug is not None and wished_rug != view.rug_id:
            return None
        return view if glance(self._book_path) == view.mark else None

    def keep(
        self, rug: RugBook, answers: Answers, pictures: Mapping[str, Any], ticks: Collection[str] = ()
    ) -> None:
        """Keep what the first view shows now, with the rug's picture for each ground; `ticks`: as the first view takes them."""
        from storage.fingerprint import glance
        from tracker.app import first_view
        from tracker.presenters.home import build_home_state
        from tracker.presenters.picture import shown_aspect
        from tracker.words import language

        mark = glance(self._book_path)
        if mark is not None:
            view = first_view.FirstView(
                state=build_home_state(rug, answers, ticks),
                pictures={ground: first_view.picture_of(picture) for ground, picture in pictures.items()},
                aspect=shown_aspect(rug),
                mark=mark,
                rug_id=rug.plan.id,
                day=answers.day.isoformat(),
                language=language(),
            )
            first_view.keep(view, self._path)
