"""What the pages over all rugs cost in a book of many: twelve rugs of 36 lots, a third of them finished, on the loom, planned.

Run: python -m tests.bench.bench_many_rugs

Each page is opened in one window as in `bench_pages`: when it is shown, of it beside the touches; the whole, and the dearest
later frame; and how many widgets it is then. Then everything of the yarn shelf is unfolded, one after the other. The yardstick is a bare one-label page in the same window. Nothing is asserted
about seconds.
"""

from __future__ import annotations

import gc
import statistics
import tempfile
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

from tests.bench.bench_pages import SIZE, TODAY, cost_ms, rest_ms, timed_apart
from tracker.app.desk import Desk
from tracker.app.window import prepare_kivy
from tracker.domain.rug import Lot, Role, RugPlan, RugStage, Session, Yarn
from tracker.presenters.yarn_shelf import Fold, build_yarn_shelf_state

RUGS, COLOURS, LOTS_OF_A_COLOUR, SESSIONS = 12, 12, 3, 100
STAGES = (RugStage.FINISHED, RugStage.ON_LOOM, RugStage.PLANNED)


def records_of_a_rug(number: int, stage: RugStage) -> Iterator[object]:
    """Yield a rug with its yarns and lots, and its sessions once it is woven on."""
    finished = stage is RugStage.FINISHED
    last = TODAY - timedelta(days=1 + 30 * number if finished else 1)
    begun = last - timedelta(days=SESSIONS - 1)
    plan = RugPlan(
        id=f"{number + 1:032x}", name=f"Rug {number + 1}", width_cm=120.0, length_cm=180.0, knots_per_10cm=40.0,
        rows_per_10cm=40.0, knots_across=480, rows=720, pile_height_mm=8.0, start_day=begun, stage=stage,
        finished_day=last if finished else None,
    )  # fmt: skip
    yield plan
    for colour in range(COLOURS):
        yarn = Yarn(
            id=f"{1_000 * (number + 1) + colour:032x}", rug_id=plan.id, role=Role.PILE, number=colour + 1,
            name=f"Colour {colour + 1}", swatch=f"#{20 * colour + 10:02X}{250 - 20 * colour:02X}60",
            cartoon_values=(colour,), tex=600.0,
        )  # fmt: skip
        yield yarn
        for lot in range(LOTS_OF_A_COLOUR):
            yield Lot(
                id=f"{100_000 * (number + 1) + 10 * colour + lot:032x}", rug_id=plan.id, yarn_id=yarn.id,
                day=begun + timedelta(days=lot), mass_g=400.0 + 10 * colour, dye_lot=f"{number + 1}-{colour + 1}-{lot + 1}",
            )  # fmt: skip
    for evening in range(0 if stage is RugStage.PLANNED else SESSIONS):
        yield Session(
            id=f"{10_000_000 * (number + 1) + evening:032x}", rug_id=plan.id, day=begun + timedelta(days=evening),
            rows=plan.rows // SESSIONS + 1 if finished else 1 + evening % 4, hours=2.0 + evening % 3,
        )  # fmt: skip


def book_of_many(path: Path, rugs: int = RUGS) -> Path:
    """Make the book; return its path."""
    from storage.book import Book

    with Book.open(path) as book:
        for number in range(rugs):
            with book.act("rug planned", rug_id=f"{number + 1:032x}") as act:
                for record in records_of_a_rug(number, STAGES[number * len(STAGES) // rugs]):
                    act.write(record)
    return path


def folds_of(desk: Desk) -> list[Fold]:
    """Return what is folded on the yarn shelf, where this is folded at all."""
    state = build_yarn_shelf_state(desk.yarn_shelf())
    return [one for one in (*state.free, *state.given) if isinstance(one, Fold)]


def main() -> None:
    """Print a line a page."""
    prepare_kivy(size=SIZE)
    from kivy.uix.label import Label

    from tracker.device.memory import collect_at_rest, tidy
    from tracker.previews.draw import open_window, settle
    from tracker.screens import load_ahead

    with tempfile.TemporaryDirectory() as folder:
        desk = Desk(book_of_many(Path(folder) / "many.loomside"), today=lambda: TODAY, background=False)
        collect_at_rest()
        aside_s = [0.0]
        desk.aside = timed_apart(desk.aside, aside_s)  # type: ignore[method-assign]
        shell = open_window(desk).shell
        settle()
        for _page in load_ahead():
            pass
        gc.collect()
        costs, unfolding = {}, []
        for name in ("yarn_shelf", "looms", "shelf"):
            # Each as if nothing had asked for the answers of any rug before; the shelf, which goes on reading rugs, last.
            desk.forget_worked_out()
            aside_s[0] = 0.0
            first = cost_ms(lambda name=name: shell.go(name), whole=False)
            below, longest = rest_ms()
            many = sum(1 for _widget in shell.page.walk())
            for fold in folds_of(desk) if name == "yarn_shelf" else ():
                shown = cost_ms(lambda fold=fold: shell.page.turn_fold(fold), whole=False)
                unfolding.append((shown, *rest_ms()))
                tidy()
            costs[name] = first, 1000 * aside_s[0], first + below, longest, many
            shell.open_tab("home")
            settle(2)
        holder = shell.ids.holder
        shell.page = None

        def bare_page() -> None:
            holder.clear_widgets()
            holder.add_widget(Label(text="Loomside"))

        yard = statistics.median(cost_ms(bare_page) for _time in range(9))
    unfolded = [max(of_all) for of_all in zip(*unfolding, strict=True)]
    print(
        f"one of {len(unfolding)} folds unfolded: {unfolded[0]:.0f} ms until shown at most, {unfolded[2]:.0f} a later frame"
    )
    print(f"a bare label in the same window: {yard:.1f} ms")
    for name, (first, aside_ms, whole, longest, many) in costs.items():
        print(
            f"{name:12} first {first:6.0f} ms ({first / yard:5.1f} x), {aside_ms:4.0f} of it beside the touches   "
            f"whole {whole:6.0f} ms, a later frame {longest:4.0f} at most   {many:5} widgets"
        )


if __name__ == "__main__":
    main()
