"""The cartoon of the plan that is open: read, looked at, laid out and counted off the touch thread."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from tracker.domain.cartoon import CartoonPicture
from tracker.domain.errors import BadPicture, LoomsideError
from tracker.domain.layout import Given
from tracker.files.typed import read_as
from tracker.presenters.cartoon_reading import KeptParts, Mends, Squares, Take, Wishes, used_colours
from tracker.presenters.mending import yarns_to_be
from tracker.presenters.plan.changes import drop_cartoon, take_cartoon
from tracker.presenters.plan.form import CartoonForm, cartoon_form
from tracker.screens.mending.ground import OnPaper
from tracker.screens.plan.drafts import PlanDrafts
from tracker.screens.plan.part import Part, Planning
from tracker.shell.page import there
from tracker.words import _, number

PARTS = ("field_file", "strip_file", "corner_file")
"""Fields of `CartoonForm` that hold a part of the cartoon."""


def parts_of(desk: Any, drafts: PlanDrafts, cartoon: CartoonForm) -> Any:
    """Return the pictures of a cartoon and how they are laid together."""

    def part(name: str) -> Path | None:
        return drafts.folder / name if name else None

    return desk.cartoons.Parts(
        main=drafts.folder / cartoon.file,
        merge=cartoon.merge,
        given=Given(cartoon.given),
        shared_column=cartoon.shared_column,
        shared_row=cartoon.shared_row,
        times_across=cartoon.times_across,
        times_along=cartoon.times_along,
        field=part(cartoon.field_file),
        strip=part(cartoon.strip_file),
        corner=part(cartoon.corner_file),
    )


class ChosenCartoon(Part):
    """The pictures the weaver chose for the cartoon, and what was read from them."""

    picture: CartoonPicture | None = None
    """The whole cartoon as it will be woven; None until it was laid out."""
    preview: tuple[Path, Any] | None = None
    """A chosen picture and what was seen in it, until it is taken or left."""
    trouble = ""
    """What is wrong with the picture chosen last."""
    reading = ""
    """What is being done with a picture just now."""

    def __init__(self, page: Planning, drafts: PlanDrafts) -> None:
        super().__init__(page)
        self.drafts = drafts
        self._visit = 0
        self._option = ""
        """What the picture that is being read will be: a field of `CartoonForm`; "": the cartoon."""

    def stands(self) -> dict[str, Any]:
        """Return which picture is being read and what was corrected of it; nothing while none is."""
        reading = self.shell.built("cartoon_reading")
        if reading is None or reading.path is None:
            return {}
        return {
            "picture": str(reading.path),
            "option": self._option,
            "wishes": reading.wished,
            "mends": reading.mends,
            "parts": reading.parts,
        }

    def stand(self, how: dict[str, Any]) -> None:
        """Go on with reading a picture, where it is still there."""
        if "picture" not in how:
            return
        path, option = Path(read_as(str, how["picture"])), read_as(str, how["option"])
        parts = read_as(KeptParts | None, how.get("parts"))
        if (path.is_file() or parts is not None) and (not option or option in PARTS):
            mends = read_as(Mends | None, how.get("mends"))
            self.read_paper(path, option, read_as(Wishes, how["wishes"]), mends, parts)

    def open(self) -> None:
        """Begin with the form that was just opened: lay its pictures out, or take the book's cartoon."""
        self.forget()
        self.trouble = ""
        chosen = self.form.cartoon
        if chosen is not None and chosen.file:
            self.lay_out(chosen, None)
        else:
            self.take_books()

    def forget(self) -> None:
        """Forget the pictures; what is still being read of them will not be taken."""
        self._visit += 1
        self.picture, self.preview, self.reading = None, None, ""

    def take_books(self) -> None:
        """Show the cartoon that the book has, where the form says there is one."""
        if self.form.cartoon is not None and self.book is not None and self.book.cartoon is not None:
            cartoon = self.book.cartoon
            self.picture = CartoonPicture(
                cells=cartoon.cells, palette=cartoon.palette, name=cartoon.source_name
            )

    def _work(self, words: str, job: Callable[[], Any], done: Callable[[Any], None]) -> None:
        """Do a job off the touch thread; a sentence that it raises is shown at the cartoon."""
        self.reading, self.trouble = words, ""
        background = self.desk.background
        visit = self._visit

        def finish(result: Any, sentence: str) -> None:
            if visit != self._visit:
                # Another rug's form is open by now, or this one was begun anew.
                return
            self.reading, self.trouble = "", sentence
            if not sentence:
                done(result)
            self.page.show()

        def work() -> None:
            try:
                result, sentence = job(), ""
            except LoomsideError as trouble:
                result, sentence = None, trouble.sentence
            except MemoryError:
                result, sentence = None, _("The picture is too large for this phone. Choose a smaller one.")
            if background:
                self.desk.post(lambda: finish(result, sentence))
            else:
                finish(result, sentence)

        if background:
            self.page.show()
            threading.Thread(target=work, name="cartoon", daemon=True).start()
        else:
            work()

    def look_at(self, path: Path) -> None:
        """Take a chosen picture that is one pixel a knot beyond doubt; show any other as it is understood first."""
        cartoons = self.desk.cartoons

        def done(seen: Any) -> None:
            if seen is None:
                self.read_paper(path)
                return
            self.preview = (path, seen)
            if not seen.strays and seen.clean is not None:
                self.take_preview(False)

        self._work(
            _("Reading the picture …"),
            lambda: cartoons.look_at(path) if cartoons.is_plain(path) else None,
            done,
        )

    def read_paper(
        self,
        path: Path,
        option: str = "",
        wishes: Wishes | None = None,
        mends: Mends | None = None,
        parts: KeptParts | None = None,
    ) -> None:
        """Show what is understood of a picture before anything of it is taken."""
        self._option = option

        def take_part(picture: CartoonPicture, _doubted: Squares) -> None:
            self.relay(**{option: self.keep_picture(picture)})

        take: Take = take_part if option else self.take_read
        self.shell.go(
            "cartoon_reading", path=path, form=self.form, take=take, wishes=wishes, mends=mends, parts=parts
        )

    def keep_picture(self, picture: CartoonPicture) -> str:
        """Keep a cartoon that was read, a point a knot, and return its name among the drafts.

        Raises
        ------
        BadPicture
            When there is no room.
        """
        try:
            return self.drafts.write(self.desk.cartoons.png_of(picture))
        except OSError as trouble:
            raise BadPicture(
                _("The cartoon could not be kept: there may be no room left. Make room, then take it again.")
            ) from trouble

    def take_read(self, picture: CartoonPicture, doubted: Squares) -> None:
        """Take a cartoon that was read from paper, with the squares to look at once more."""
        file = self.keep_picture(picture)
        self._took(cartoon_form(picture, file=file, doubted=doubted), picture)

    def look_at_part(self, path: Path, option: str) -> None:
        """Lay another picture of the cartoon into it: the field, or a part of the border."""

        def done(file: str | None) -> None:
            if file is None:
                self.read_paper(path, option)
            else:
                self.relay(**{option: file})

        def copied() -> str | None:
            if not self.desk.cartoons.is_plain(path):
                return None
            try:
                return self.drafts.copy(path)
            except OSError as trouble:
                raise BadPicture(_("The picture could not be copied. Choose it again.")) from trouble

        self._work(_("Reading the picture …"), copied, done)

    def leave_preview(self) -> None:
        """Leave the chosen picture; the form stays as it is."""
        self.preview = None
        self.page.show()

    def take_preview(self, merge: bool) -> None:
        """Take the chosen picture, its strays merged or every colour kept."""
        if self.preview is None:
            return
        path, seen = self.preview
        picture = seen.merged.picture if merge else seen.clean
        self.preview = None

        def job() -> CartoonForm:
            try:
                file = self.drafts.copy(path)
            except OSError as trouble:
                raise BadPicture(
                    _(
                        "The picture could not be copied: there may be no room left. Make room, then choose it again."
                    )
                ) from trouble
            return cartoon_form(picture, file=file, merge=merge)

        self._work(_("Counting the knots …"), job, lambda cartoon: self._took(cartoon, picture))

    def _took(self, cartoon: CartoonForm, picture: CartoonPicture) -> None:
        before, before_picture = self.form, self.picture

        def undo() -> None:
            self.picture = before_picture
            self.change(before)

        self.picture = picture
        self.change(take_cartoon(before, cartoon))
        self.shell.toast(
            _("Cartoon taken: {knots} × {rows} knots.").format(
                knots=number(cartoon.knots), rows=number(cartoon.rows)
            ),
            undo=undo,
        )

    def relay(self, **options: Any) -> None:
        """Lay the cartoon's pictures out anew with other options; when that fails nothing changes but the sentence."""
        self.lay_out(replace(there(self.form.cartoon), **options), self._took)

    def mend(self) -> None:
        """Mend the picture chosen for the cartoon square by square, as it is before it is laid out."""
        chosen = there(self.form.cartoon)
        path = self.drafts.folder / chosen.file
        self._work(
            _("Reading the picture …"), lambda: self.desk.cartoons.read_part(path, chosen.merge), self._mend
        )

    def _mend(self, picture: CartoonPicture) -> None:
        before, cartoons = self.form, self.desk.cartoons
        chosen = there(before.cartoon)

        def keep(mended: CartoonPicture, doubted: Squares) -> None:
            file = self.keep_picture(used_colours(mended))
            cartoon = replace(chosen, file=file, merge=False, doubted=doubted)
            laid_out = _laid_out(cartoon, cartoons.assemble(self._parts(cartoon)))
            # From the form as it was: a colour that is mended away and comes back finds its own yarn again.
            self.page.keep(take_cartoon(before, laid_out))
            self.drafts.tidy()

        self.shell.go(
            "mending",
            read=OnPaper(
                picture, yarns_to_be(before, picture), chosen.doubted,
                before.rows_per_10cm / before.knots_per_10cm, keep, _("Back to the plan"),
            ),
        )  # fmt: skip

    def lay_out(
        self, cartoon: CartoonForm, done: Callable[[CartoonForm, CartoonPicture], None] | None
    ) -> None:
        """Lay out the pictures of a cartoon; hand it with its whole picture to `done`, or show it only."""
        cartoons = self.desk.cartoons
        parts = self._parts(cartoon)

        def job() -> tuple[CartoonForm, CartoonPicture]:
            picture = cartoons.assemble(parts)
            return _laid_out(cartoon, picture), picture

        def finish(laid_out: tuple[CartoonForm, CartoonPicture]) -> None:
            if done is not None:
                done(*laid_out)
            else:
                self.picture = laid_out[1]

        self._work(_("Laying the cartoon out …"), job, finish)

    def _parts(self, cartoon: CartoonForm) -> Any:
        return parts_of(self.desk, self.drafts, cartoon)

    def drop(self) -> None:
        """Go without a cartoon, with a way back."""
        before, picture = self.form, self.picture

        def undo() -> None:
            self.picture = picture
            self.change(before)

        self.picture = None
        self.change(drop_cartoon(before))
        self.shell.toast(_("The cartoon is left out; its colours keep their shares."), undo=undo)


def _laid_out(cartoon: CartoonForm, picture: CartoonPicture) -> CartoonForm:
    """Return the form of a cartoon with the knots, rows and shades of the whole one that its pictures make."""
    options = {
        name: getattr(cartoon, name)
        for name in CartoonForm.__dataclass_fields__
        if name not in ("name", "knots", "rows", "shades")
    }
    return replace(cartoon_form(picture, **options), name=cartoon.name)
