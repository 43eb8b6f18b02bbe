"""The weaver's desk: the open book, the rug in hand and its present answers. No Kivy, so that it is tested bare.

Screens ask the desk for values and hand it acts. Reading and forecasting happen off the touch thread;
who listens is told, on the touch thread, when there is something newer to show.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from tracker.app import beside_book
from tracker.app.book_port import BookPort, Opener, open_file
from tracker.app.drafts import Drafts
from tracker.app.last_view import LastView
from tracker.app.reading import (
    KnownAnswers,
    Reading,
    answered,
    earlier_ids,
    earlier_rugs,
    in_hand,
    read,
    with_days_off,
    yarns_answered,
)
from tracker.app.unforeseen import note, note_and_say
from tracker.device.clock import now_utc
from tracker.domain.act import ActKind
from tracker.domain.errors import BookInUse, BookTrouble, LoomsideError
from tracker.presenters.currency import currency_of
from tracker.presenters.of_rug import TICKS, of_rug
from tracker.presenters.timer import pause_without_rug
from tracker.theme import DARK, LIGHT
from tracker.words import _, use_currency

if TYPE_CHECKING:
    from tracker.domain.hand_out import HandOut
    from tracker.domain.history import Copy, Entry, PastVersion, Undone
    from tracker.domain.loom import Loom
    from tracker.domain.rug import (
        Cost,
        DaysOff,
        Lot,
        Preparation,
        RugBook,
        RugPlan,
        Session,
        Spoilt,
        Weaver,
        Yarn,
    )
    from tracker.domain.taught import Taught, TaughtUse
    from tracker.domain.work import Evening, OwnRate
    from tracker.forecast.answers import Answers, FinishAnswer
    from tracker.forecast.lessons import Lessons, Taken
    from tracker.presenters.yarn_shelf import ShelfStock

    OnLooms = tuple[tuple[Loom, ...], tuple[tuple[RugBook, Answers], ...], tuple[RugBook, ...]]


_Gathered = TypeVar("_Gathered")


def _inline(work: Callable[[], None]) -> None:
    work()


GROUNDS = frozenset((LIGHT.card, DARK.card))
"""Colours towards which the rug's picture may have to pale at the next start: a phone may be dark by then."""

LOOK_AGAIN_S = 2
"""Seconds after which a book that another app held is looked at again."""


class Desk:
    """One open book and the rug in hand.

    Parameters
    ----------
    path
        The book's file; made when it is not there.
    today
        Returns the local calendar day.
    post
        Runs a callable on the touch thread; called from the worker.
    background
        False: everything happens at once, in the calling thread (tests, text form).
    opener
        Opens the book; another one than the file's lets the desk run on a book in memory.
    """

    def __init__(
        self,
        path: Path,
        *,
        today: Callable[[], date] | None = None,
        post: Callable[[Callable[[], None]], None] = _inline,
        background: bool = True,
        device_name: str = "",
        opener: Opener = open_file,
    ) -> None:
        self.path = Path(path).absolute()
        self._today = today
        self.post = post
        self.background = background
        self._device_name = device_name or _("this phone")
        self._listeners: list[Callable[[], None]] = []
        self._once: list[Callable[[], None]] = []
        self._opener = opener
        self._book: BookPort | None = None
        self._turn = 0
        self._turn_lock = threading.Lock()
        self._reading = threading.Lock()
        self.plans: tuple[RugPlan, ...] = ()
        self._taught: tuple[tuple[RugPlan, ...], tuple[str, ...], Taught] | None = None
        """What was last asked of `taught_pace`: for which shelf and rug, and the answer."""
        self._known = KnownAnswers()
        self._gathered: dict[str, tuple[int, date, Any]] = {}
        """What was gathered over all rugs, with the reading and the day it holds for: every act makes a new reading."""
        self.settings: dict[str, Any] = {}
        self.rug: RugBook | None = None
        self.answers: Answers | None = None
        self.before: Answers | None = None
        """The answers as they stood before the last act, to say what changed."""
        self.holidays: tuple[DaysOff, ...] = ()
        """Public holidays that count as days off beside those entered."""
        self.fresh = False
        """False while newer answers are being worked out."""
        self._answered_on: date | None = None
        """The day for which the answers were last worked out."""
        self.trouble = ""
        self.drafts = Drafts(self.path.with_name(self.path.name + ".drafts.json"))
        self._minded = False
        """Whether what waits beside the book was looked at since the app began."""
        self._last_view = LastView(self.path)
        self._opened = threading.Event()
        self._opening = 0
        """How often the book was to be opened or was closed: who waits for it to be let go of waits for the last time only."""
        self.was_opened = False
        """True once the book could be opened."""
        self.damaged = False
        """True when the book could not be opened because its file is damaged: `rescue` may help."""
        self.older = False
        """True when that is because acts are missing, so that it can be opened as it is, too."""
        self.ground = ""
        """Colour towards which the rug's picture pales; set by who shows it."""
        self.picture: Any = None
        """The rug's picture, uint8 of shape (rows, knots, 3), drawn off the touch thread."""

    # --- opening and closing

    def open(self, as_it_is: bool = False) -> None:
        """Open the book and read what the first view shows.

        Parameters
        ----------
        as_it_is
            Open it though acts are missing that it once held.

        Raises
        ------
        BookTrouble
            With a sentence, when the book cannot be opened.
        """
        from tracker.domain.errors import BookDamaged, BookOlder

        try:
            self._book = self._opener(self.path, self._device_name, as_it_is)
        except BookDamaged as trouble:
            older = isinstance(trouble, BookOlder)
            self.post(lambda: self._set_damaged(older))
            raise
        finally:
            self._opened.set()
        # Whoever held the book until now may have left a half-filled form or a running timer since this app began.
        self.drafts.look_again()
        self.post(self._set_opened)
        self.read(inline=True)

    def rescue(self) -> tuple[str, ...]:
        """Make a new book of what can be read of a damaged one, open it, and return the plain report.

        Raises
        ------
        BookTrouble
            With a sentence, when nothing could be read; the damaged file is where it was.
        """
        sentences = beside_book.rescue(self.path, self._device_name)
        self.open()
        return sentences

    def copy_of_the_day(self, failed: Callable[[str], None] | None = None) -> None:
        """Copy the book off the touch thread, unless today's copy is there; a failure is told to `failed`."""

        def work() -> None:
            if self._book is not None:
                beside_book.daily_copy(self._file, self.today())

        self.aside(work, lambda _done: None, failed)

    def open_soon(self) -> None:
        """Open the book off the touch thread; trouble is told like any other news.

        A book that another app holds is opened as soon as that one lets go of it: one that was killed may take a while to.
        """
        self._opening = opening = self._opening + 1

        def try_once() -> bool:
            """Open the book; True where it is worth another look."""
            try:
                self.open()
            except LoomsideError as trouble:
                sentence = trouble.sentence
                self.post(lambda: self._set_trouble(self._turn, sentence))
                return isinstance(trouble, BookInUse)
            except Exception as error:
                told = note_and_say(error, self.path)
                self.post(lambda: self._set_trouble(self._turn, told))
            return False

        def work() -> None:
            while try_once():
                time.sleep(LOOK_AGAIN_S)
                if opening != self._opening:
                    return

        threading.Thread(target=work, name="opening", daemon=True).start()

    @property
    def without_rug(self) -> bool:
        """Whether the book is open and known to hold no rug; while it opens, or cannot be opened, there may be one."""
        return self.fresh and not self.trouble and self.rug is None

    def last_view(self) -> Any:
        """Return the first view as last shown, when the book still holds exactly that; otherwise None."""
        return self._last_view.read(self.ground, self.drafts.get("rug in hand"))

    def close(self) -> None:
        """Close the book. Safe to call twice."""
        self._opening += 1
        book, self._book = self._book, None
        if book is not None:
            with self._reading:
                book.close()

    @property
    def book(self) -> BookPort:
        """The open book.

        Raises
        ------
        BookTrouble
            When no book is open.
        """
        if self._book is None and self.background:
            self._opened.wait(timeout=10)
        if self._book is None:
            raise BookTrouble(_("The book is not open. Close Loomside and start it again."))
        return self._book

    @property
    def _file(self) -> Any:
        """The open book as what lies in its file: a `storage.book.Book`."""
        return self.book

    @property
    def cartoons(self) -> Any:
        """What may be asked about pictures of cartoons (`tracker.app.cartoons`); numpy and Pillow come with it."""
        from tracker.app import cartoons

        return cartoons

    @property
    def exports(self) -> Any:
        """What may be asked about files that leave the app (`tracker.app.exports`); the reports come with it."""
        from tracker.app import exports

        return exports

    def today(self) -> date:
        """The local calendar day."""
        return self._today() if self._today else date.today()  # noqa: DTZ011 - the weaver's own day

    # --- listening

    def listen(self, listener: Callable[[], None]) -> None:
        """Call `listener` whenever the book or the answers changed."""
        self._listeners.append(listener)

    def unlisten(self, listener: Callable[[], None]) -> None:
        """Call `listener` no longer."""
        if listener in self._listeners:
            self._listeners.remove(listener)

    def once(self, listener: Callable[[], None]) -> None:
        """Call `listener` one time, when the answers are next fresh (now, when they are)."""
        if self.fresh:
            listener()
        else:
            self._once.append(listener)

    def _tell(self) -> None:
        for listener in list(self._listeners):
            listener()
        if self.fresh:
            waiting, self._once = self._once, []
            for listener in waiting:
                listener()

    # --- the rug in hand

    @property
    def rug_id(self) -> str | None:
        """The rug in hand; None when there is none yet."""
        return in_hand(self.plans, self.drafts.get("rug in hand"))

    def stay(self) -> None:
        """Keep the rug in hand, even where another would come up by itself after the next act."""
        self.drafts.put("rug in hand", self.rug_id)

    def choose(self, rug_id: str) -> None:
        """Take another rug in hand."""
        self.drafts.put("rug in hand", rug_id)
        self.before = None
        self.read()

    # --- reading

    @property
    def turn(self) -> int:
        """How often the book was read anew: what was read of it in this turn still stands in it."""
        return self._turn

    def read(self, inline: bool = False) -> None:
        """Read the rug in hand anew and work out its answers, then tell who listens."""
        with self._turn_lock:
            self._turn += 1
            turn = self._turn
        if inline:
            self.post(lambda: self._set_stale(turn))  # who opens the book may do so off the touch thread
        else:
            self.fresh = False

        def work() -> None:
            try:
                with self._reading:
                    book = self._book
                    if turn != self._turn or book is None:
                        return
                    wished = self.drafts.get("rug in hand")
                    ground = self.ground
                    draw = partial(self._draw, ground=ground) if ground else None
                    reading = read(book, wished, self.today(), draw, self._known)
            except LoomsideError as trouble:
                sentence = trouble.sentence
                self.post(lambda: self._set_trouble(turn, sentence))
            except Exception as error:
                # A thread that ends without a word leaves the weaver with a page that never fills.
                if not self.background:
                    raise
                told = note_and_say(error, self.path)
                self.post(lambda: self._set_trouble(turn, told))
            else:
                self.post(lambda: self._set(turn, reading))
                try:
                    if (
                        reading.rug is not None
                        and reading.answers is not None
                        and reading.picture is not None
                    ):
                        pictures = {other: self._draw(reading.rug, other) for other in GROUNDS - {ground}}
                        self._last_view.keep(
                            reading.rug,
                            reading.answers,
                            {ground: reading.picture, **pictures},
                            of_rug(self.drafts, TICKS, reading.rug.plan.id) or (),
                        )
                except Exception as error:
                    if not self.background:
                        raise
                    note(error, self.path)  # the next start shows nothing early; the answers are there

        if inline or not self.background:
            work()
        else:
            threading.Thread(target=work, name="reading", daemon=True).start()

    def follow_day(self) -> None:
        """Work the answers out anew where they are of another day than today: midnight passed, or the phone's clock was set."""
        if self.fresh and self._answered_on != self.today():
            self.read()

    @property
    def behind(self) -> bool:
        """Whether the answers are of another day than today, until those of today are worked out."""
        return self._answered_on is not None and self._answered_on != self.today()

    def _draw(self, rug: RugBook, ground: str) -> Any:
        from tracker.presenters.picture import rug_picture
        from tracker.presenters.settings import mirrored_of

        return rug_picture(rug, ground, mirrored=mirrored_of(self.drafts, rug.plan.id))

    def answers_for(self, rug_id: str) -> tuple[RugBook, Answers]:
        """Read one rug and work out its answers, with what the finished rugs taught."""
        return self._answers_of([rug_id], self.plans, self.book.rug_book)[0]

    def _answers_of(
        self, rug_ids: Iterable[str], plans: tuple[RugPlan, ...], rug_book: Callable[[str], RugBook]
    ) -> tuple[tuple[RugBook, Answers], ...]:
        settings, today = self.book.settings(), self.today()
        return tuple(
            answered(rug_book, rug_id, plans, settings, today, self._known)[:2] for rug_id in rug_ids
        )

    def forget_worked_out(self) -> None:
        """Let go of the answers of all rugs, with the rugs they rest on; they are worked out anew when asked for."""
        self._known, self._gathered, self._taught = KnownAnswers(), {}, None

    def taught_pace(self, rug_id: str) -> Taught:
        """Return what the finished rugs other than this one, or one not yet saved, say of the weaver's pace."""
        from tracker.forecast.pace import taught_by

        if self.answers is not None and self.rug is not None and self.rug.plan.id == rug_id:
            return self.answers.taught
        # Not by the rug: one not yet saved has another id each time it is begun, and the same teach it.
        earlier = earlier_ids(rug_id, self.plans)
        if self._taught is None or self._taught[0] is not self.plans or self._taught[1] != earlier:
            taught = taught_by(tuple(self.book.rug_book(earlier_id) for earlier_id in earlier))
            self._taught = (self.plans, earlier, taught)
        return self._taught[2]

    def taught_use(self, rug_id: str) -> tuple[TaughtUse, ...]:
        """Return what the finished rugs other than this one say of the yarn of a knot, the last one first."""
        from tracker.forecast.lessons import use_taught

        earlier = earlier_ids(rug_id, self.plans)

        def gather() -> tuple[TaughtUse, ...]:
            told = (use_taught(self.rug_book(earlier_id)) for earlier_id in reversed(earlier))
            return tuple(use for use in told if use is not None)

        return self._once_a_reading(f"yarn of {' '.join(earlier)}", gather)

    def evening_lately(self) -> Evening | None:
        """Return what an ordinary evening ties at the rug beside the one in hand that was woven on last; None where none is."""
        from tracker.domain.rug import RugStage
        from tracker.domain.work import evening_of

        rug_id = self.rug_id

        def gather() -> Evening | None:
            beside = [
                self.rug_book(plan.id, with_cartoon=False)
                for plan in self.plans
                if plan.stage is not RugStage.FINISHED and plan.id != rug_id
            ]
            woven = [rug for rug in beside if rug.woven_sessions]
            last = max(
                woven, key=lambda rug: (rug.woven_sessions[-1].day, rug.woven_sessions[-1].born), default=None
            )
            return None if last is None else evening_of(last)

        return self._once_a_reading(f"evening beside {rug_id}", gather)

    def own_rate(self) -> OwnRate | None:
        """Return the knots an hour of the rug that was woven last, with its hours; None where no rug has any."""
        from tracker.domain.work import own_rate

        return self._once_a_reading(
            "own rate",
            lambda: own_rate([self.rug_book(plan.id, with_cartoon=False) for plan in self.plans]),
        )

    def looking_back(self) -> Callable[[RugBook, date], FinishAnswer | None]:
        """Return what works out what would have been foretold of the last row on a day, from a book as it then stood.

        It reads each finished rug once, for however many days it is asked.
        """
        from tracker.forecast.outlook import finish_foretold

        rug_book = cache(self.book.rug_book)

        def foretold(rug: RugBook, on: date) -> FinishAnswer | None:
            earlier = earlier_rugs(rug_book, rug.plan.id, self.plans, on)
            return finish_foretold(with_days_off(rug, self.holidays), on, earlier=earlier)

        return foretold

    def rug_book(self, rug_id: str, with_cartoon: bool = True) -> RugBook:
        """Read one rug of the book, without its answers.

        Raises
        ------
        BookTrouble
            When it is not there or cannot be read.
        """
        return self.book.rug_book(rug_id, with_cartoon)

    def lessons_of(self, rug_id: str) -> tuple[RugBook, Lessons]:
        """Read a rug and what it taught."""
        from tracker.forecast.lessons import lessons_of

        rug = self.rug_book(rug_id)
        return rug, lessons_of(rug)

    def with_lessons(self, lessons: Lessons, taught: RugBook, rug_id: str) -> Taken:
        """Return another rug's plan and yarns with what `taught` taught; nothing is written yet."""
        from tracker.forecast.lessons import take_over

        return take_over(lessons, taught, self.rug_book(rug_id, with_cartoon=False))

    def all_that_adds_up(
        self,
    ) -> tuple[tuple[Session | Lot | Spoilt | Cost | HandOut | Preparation, ...], ...]:
        """Read what adds up of each rug, from its sessions to the balls wound; the same again until something is read anew."""

        def gather() -> tuple[tuple[Session | Lot | Spoilt | Cost | HandOut | Preparation, ...], ...]:
            book = self.book
            lots = book.lots()
            rugs = [book.rug_book(plan.id, with_cartoon=False) for plan in book.rugs()]
            return tuple(
                (
                    *rug.sessions,
                    *(lot for lot in lots if lot.rug_id == rug.plan.id),
                    *rug.spoilt,
                    *rug.costs,
                    *rug.hand_outs,
                    *rug.preparations,
                )
                for rug in rugs
            )

        return self._once_a_reading("all that adds up", gather)

    def _once_a_reading(self, name: str, gather: Callable[[], _Gathered]) -> _Gathered:
        """Return what `gather` returned for `name` since the book was last read, on this day; gather it where nothing was."""
        turn, day = self._turn, self.today()
        known = self._gathered.get(name)
        if known is None or known[:2] != (turn, day):
            known = self._gathered[name] = (turn, day, gather())
        return known[2]

    def yarn_shelf(self) -> ShelfStock:
        """Read every rug, lot and move, and gather what is left of each lot; the same again until something is read anew."""
        from tracker.presenters.yarn_shelf import shelf_stock

        def gather() -> ShelfStock:
            book, today = self.book, self.today()
            settings = book.settings()
            rugs = [
                yarns_answered(book.rug_book, plan.id, settings, today, self._known) for plan in book.rugs()
            ]
            return shelf_stock(rugs, book.lots(), book.lot_moves(), book.yarns())

        return self._once_a_reading("yarn shelf", gather)

    def looms(self) -> tuple[Loom, ...]:
        """Read all looms, in the order in which they were entered; the same again until something is read anew."""
        return self._once_a_reading("every loom", self.book.looms)

    def on_looms(self) -> OnLooms:
        """Read all looms, every rug that is not finished with its answers, and the finished ones that name a loom.

        The same again until something is read anew.
        """
        from tracker.domain.rug import RugStage

        def gather() -> OnLooms:
            book = self.book
            plans = book.rugs()
            on_loom = (plan.id for plan in plans if plan.stage is not RugStage.FINISHED)
            rugs = self._answers_of(on_loom, plans, cache(book.rug_book))
            finished = tuple(
                book.rug_book(plan.id, with_cartoon=False)
                for plan in plans
                if plan.stage is RugStage.FINISHED and plan.loom_id is not None
            )
            return book.looms(), rugs, finished

        return self._once_a_reading("looms", gather)

    def history(self, record_id: str) -> tuple[PastVersion, ...]:
        """Return every version of an entry, the one that counts first."""
        return self.book.history(record_id)

    def new_weaver(self, name: str, beside: Iterable[str] = ()) -> Weaver:
        """Return somebody new: one and the same on every phone that enters her name.

        Parameters
        ----------
        beside
            Ids of others who are not in the book yet. Whoever has or had the id of that name, and is called otherwise now,
            keeps it.
        """
        from tracker.domain.rug import Weaver, id_of, new_id

        usual = id_of("weaver", name.casefold())
        try:
            known = bool(self.book.history(usual))
        except BookTrouble:
            known = False
        return Weaver(id=new_id() if known or usual in beside else usual, name=name)

    def is_entered(self, record_id: str) -> bool:
        """Tell whether the book holds a record: then a form that says it was saved, and only its draft outlived an app that was killed."""
        return self._held(record_id) is not None

    def _held(self, record_id: str) -> Any:
        """Return what the book holds of a record; None where it holds none."""
        try:
            return self.book.history(record_id)[0].value
        except BookTrouble:
            return None

    def names(
        self,
    ) -> tuple[tuple[Yarn, ...], tuple[Weaver, ...], tuple[RugPlan, ...], tuple[Lot, ...], tuple[Loom, ...]]:
        """Read every yarn, weaver, rug, lot and loom of the book, so that any entry can be told by name."""
        book = self.book
        return book.yarns(), book.weavers(), book.rugs(), book.lots(), book.looms()

    def diary_count(self, **query: Any) -> int:
        """Return how many acts the diary's question finds."""
        return self.book.diary_count(**query)

    def diary(self, limit: int, offset: int, **query: Any) -> tuple[Entry, ...]:
        """Return a part of the acts that the diary's question finds, the newest first."""
        return self.book.diary(**query, limit=limit, offset=offset)

    def phone_name(self) -> str:
        """Return what this phone is called in the book."""
        return self.book.phone_name()

    # --- copies

    def copies(self) -> list[tuple[Copy, int | None]]:
        """Return the copies beside the book, each with the acts since (None: not known, the book is not open)."""
        return beside_book.copies(self.path, None if self.damaged or self.trouble else self._file)

    def copy_now(self) -> None:
        """Copy the book and check the copy."""
        beside_book.copy_now(self._file)

    def restore(self, copy: Path) -> Any:
        """Go back to a copy as one act; return what that did. Call `read` on the touch thread afterwards."""
        return beside_book.restore(self._file, copy)

    # --- two phones

    def write_exchange(self, folder: Path, name: str, orders: bool = False) -> Path:
        """Write a file with the whole book for another phone; return its path."""
        return beside_book.write_exchange(self._file, folder, name, orders)

    def join(self, path: Path, put_back: bool) -> tuple[Any, str]:
        """Take the other phone's file in; return what came, or None with the doubt whether it is of this book."""
        return beside_book.join(self._file, path, put_back)

    def undo_join(self, acts: Any) -> Undone:
        """Take back all that a file brought, as one act. Call `read` on the touch thread afterwards."""
        return beside_book.undo_join(self._file, acts)

    def _set_opened(self) -> None:
        self.damaged, self.older, self.was_opened = False, False, True

    def _set_damaged(self, older: bool) -> None:
        self.damaged, self.older = True, older

    def _set_stale(self, turn: int) -> None:
        if turn == self._turn:
            self.fresh = False

    def _set(self, turn: int, reading: Reading) -> None:
        if turn != self._turn:
            return
        self.plans, self.settings, self._answered_on = reading.plans, reading.settings, reading.day
        use_currency(currency_of(self.settings))
        self.rug, self.answers, self.holidays = reading.rug, reading.answers, reading.holidays
        if reading.picture is not None:
            self.picture = reading.picture
        self.fresh, self.trouble = True, ""
        self._mind_drafts()
        self._tell()

    def _mind_drafts(self) -> None:
        """Let what waits beside the book be of the rug it is of, and no timer run at a rug that is finished or not there."""
        from tracker.domain.rug import RugStage

        rug_id = self.rug_id
        if rug_id is not None:
            self.drafts.give_to_rugs(rug_id)
        if not self._minded and self.drafts.get("session forms"):
            from tracker.presenters.session import forget_saved

            forget_saved(self.drafts, self._held)
        self._minded = True
        woven = {plan.id for plan in self.plans if plan.stage is not RugStage.FINISHED}
        pause_without_rug(self.drafts, woven, now_utc())

    def _set_trouble(self, turn: int, sentence: str) -> None:
        if turn == self._turn:
            self.trouble = sentence
            self._tell()

    def aside(
        self,
        work: Callable[[], Any],
        done: Callable[[Any], None],
        failed: Callable[[str], None] | None = None,
    ) -> None:
        """Do `work` off the touch thread, then hand what it returns to `done` on it.

        A LoomsideError goes as its sentence to `failed`, and so does, with its trace kept, what nobody foresaw.
        Without a background both happen at once, and what nobody foresaw is raised.
        """

        def run() -> None:
            try:
                result = work()
            except LoomsideError as trouble:
                sentence = trouble.sentence
                if failed is not None:
                    self.post(lambda: failed(sentence))
            except Exception as error:
                if failed is None or not self.background:
                    raise
                told = note_and_say(error, self.path)
                self.post(lambda: failed(told))
            else:
                self.post(lambda: done(result))

        if self.background:
            threading.Thread(target=run, name="aside", daemon=True).start()
        else:
            run()

    # --- acting

    def act(
        self, kind: ActKind, *values: Any, withdraw: Iterable[str] = (), rug_id: str | None = None
    ) -> str:
        """Write `values` and withdraw records as one act; return the act's id, for undo.

        "" where the book held all of it already: what entered it then is not this act's to take back.

        Raises
        ------
        BookTrouble
            When it could not be written; nothing has changed then, and the same call may be tried again.
        BadEntry
            When yarn that was moved to another place would vanish from there.
        """
        withdraw = tuple(withdraw)
        self._refuse_less_than_moved({value.id: value for value in values} | dict.fromkeys(withdraw))
        # While another rug that was taken in hand is still read, what the pages show and change is the one before.
        rug_id = rug_id or (self.rug_id if self.rug is None else self.rug.plan.id)
        with self.book.act(kind, rug_id=rug_id) as act:
            for value in values:
                act.write(value)
            for record_id in withdraw:
                act.withdraw(record_id)
        self.before = self.answers
        self.read()
        return act.act_id if act.stored else ""

    def undo(self, act_id: str) -> Undone:
        """Take an act back; return what that did, with the act that did so (undo that to do it again).

        Raises
        ------
        BadEntry
            When yarn that was moved to another place would vanish from there.
        """
        if self.book.lot_moves():
            entry = self.entry_of(act_id)
            changes = () if entry is None else entry.changes
            self._refuse_less_than_moved(
                {change.record_id: change.before for change in changes if change.current}
            )
        undone = self.book.undo(act_id)
        self.before = self.answers
        self.read()
        return undone

    def _refuse_less_than_moved(self, changed: Mapping[str, Any]) -> None:
        """Check that moves of yarn between rugs keep what they moved, where lots or moves change or anything is withdrawn."""
        from tracker.domain.lot_moves import LotMove, refuse_less_than_moved
        from tracker.domain.rug import Lot

        if not any(value is None or isinstance(value, Lot | LotMove) for value in changed.values()):
            return
        moves = self.book.lot_moves()
        if moves:
            refuse_less_than_moved(self.book.lots(), moves, changed)

    def entry_of(self, act_id: str) -> Entry | None:
        """Return what the diary says of an act; None when it is not in the book."""
        return self.book.entry(act_id)

    def setting(self, key: str, default: Any = None) -> Any:
        """Return a setting of the book."""
        return self.settings.get(key, default)

    @property
    def length_unit(self) -> str:
        """The unit lengths are shown in: "cm" or "inch"."""
        from tracker.domain.units import length_unit_of

        return length_unit_of(self.settings)

    def set_setting(self, key: str, value: Any) -> str:
        """Keep a setting in the book; return the act's id, for undo."""
        return self.set_settings({key: value})

    def set_settings(self, values: Mapping[str, Any]) -> str:
        """Keep several settings by one act; return its id, for undo."""
        from tracker.domain.rug import Setting

        return self.act(
            ActKind.SETTING_CHANGED, *(Setting(id=key, value=value) for key, value in values.items())
        )
