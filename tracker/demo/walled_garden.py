"""The rug on the loom: woven by the generator, yarn by yarn, and noted as its weavers would."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from tracker.demo.deeds import SEED, Deed, Ids
from tracker.demo.walled_garden_plan import (
    AHEAD_SHARE,
    DRAWN_IN_SHARE,
    LEAN_SHARE,
    SLACK,
    TOGETHER_EVERY,
    TRIM_EVERY_ROWS,
    UNPICKED_AT,
    UNPICKED_ROWS,
    WALNUT,
    WALNUT_FIRST_G,
    pile_bought,
    plan_garden,
    session_days,
    story_notes,
)
from tracker.demo.workshop import (
    CHANGE_IN_KNOTS,
    FIRST_RATE,
    LEARNING_SESSIONS,
    SETTLED_RATE,
    TOGETHER_RATE,
    USE_OVER_PLAN,
)
from tracker.demo.yarn_truth import Yarns, to_half
from tracker.domain.act import ActKind
from tracker.domain.material import cloth_width_cm, pile_mass_per_knot_g, weft_mass_per_row_g
from tracker.domain.order import DeliveryWay, Order, Payment
from tracker.domain.rug import (
    Cost,
    CostKind,
    DaysOff,
    Lot,
    Measurement,
    Preparation,
    PreparationKind,
    Pricing,
    Sample,
    Session,
    Setting,
    Spoilt,
    UnpickedYarn,
    Wage,
    WageBasis,
    Weaver,
    Weighing,
    Yarn,
)
from tracker.domain.trimming import Trim
from tracker.words import _


def _to_the_tape(length_cm: float) -> float:
    """Return a length as a tape with half centimetres reads it."""
    return round(2.0 * length_cm) / 2.0


class GardenLoom:
    """The rug as it is truly woven, and what its weavers note of it."""

    def __init__(self, today: date, weavers: tuple[Weaver, Weaver], ids: Ids) -> None:
        self.today, self.weavers, self.ids = today, weavers, ids
        self.rng = np.random.default_rng(SEED)
        self.days = session_days(today)
        self.first = self.days[0]
        self.garden = garden = plan_garden(self.first, today, ids)
        self.plan, self.by_name = garden.plan, garden.by_name
        self.bought, self.story = pile_bought(), story_notes()
        # The truth of this rug, which its weavers do not know.
        self.g_each = {
            yarn.id: pile_mass_per_knot_g(self.plan, yarn, garden.warp)
            * USE_OVER_PLAN
            * float(self.rng.normal(1.0, 0.012))
            for yarn in garden.pile
        } | {
            yarn.id: weft_mass_per_row_g(self.plan, yarn, garden.warp) * float(self.rng.normal(1.03, 0.01))
            for yarn in (garden.ground, garden.sinuous)
        }
        self.real = Yarns(garden.yarns, self.g_each, self.rng)
        cells = garden.cartoon.cells
        values = [yarn.cartoon_values[0] for yarn in garden.pile]
        self.knots = np.stack([(cells == value).sum(axis=1) for value in values], axis=1)
        changes = (np.diff(cells.astype(int), axis=1) != 0).sum(axis=1)
        self.work = self.plan.knots_across + CHANGE_IN_KNOTS * changes
        self.row = self.trimmed_to = 0

    def deeds(self) -> Iterator[Deed]:
        """Weave the rug, and note it."""
        garden = self.garden
        yield Deed(
            self.first - timedelta(days=26),
            ActKind.RUG_PLANNED,
            (self.plan, garden.cartoon, *garden.yarns, *garden.steps),
            rug_id=self.plan.id,
        )
        yield from self._buying()
        yield from self._sample()
        yield from self._preparing()
        for count, day in enumerate(self.days):
            yield from self._session(count, day)
            yield from self._after(count, day)
        yield self._wedding()
        yield from self._money()
        yield from self._order()

    def _money(self) -> Iterator[Deed]:
        """What is paid by the day, what was spent besides, and the margin; the amounts are invented."""
        begun = self.first - timedelta(days=8)
        rug_id = self.plan.id
        yield Deed(begun, ActKind.SETTING_CHANGED, (Setting(id="currency", value="EUR"),))
        wage = Wage(id=self.ids.new(), rug_id=rug_id, basis=WageBasis.DAYS, amount=11.0, each=1)
        yield Deed(begun, ActKind.WAGE_ENTERED, (wage,), rug_id=rug_id)
        for kind, amount, note in (
            (CostKind.PREPARATION, 18.0, _("New heddles and shed stick.")),
            (CostKind.OTHER, 24.5, _("Two days' hire of the van for loom and yarn.")),
        ):
            spent = Cost(id=self.ids.new(), rug_id=rug_id, day=begun, kind=kind, amount=amount, note=note)
            yield Deed(begun, ActKind.MONEY_SPENT, (spent,), rug_id=rug_id)
        pricing = Pricing(id=self.ids.new(), rug_id=rug_id, margin=0.25)
        yield Deed(begun, ActKind.PRICE_MADE, (pricing,), rug_id=rug_id)

    def _order(self) -> Iterator[Deed]:
        """What was agreed with the customer, and the deposit; nothing of it is told elsewhere."""
        rug_id, agreed = self.plan.id, self.first - timedelta(days=24)
        order = Order(
            id=self.ids.new(),
            rug_id=rug_id,
            customer=_("The tea house at the gate"),
            promised_day=self.today + timedelta(days=80),
            price=2400.0,
            way=DeliveryWay.FETCHED,
        )
        yield Deed(agreed, ActKind.ORDER_CHANGED, (order,), rug_id=rug_id)
        deposit = Payment(id=self.ids.new(), rug_id=rug_id, day=agreed, amount=800.0)
        yield Deed(agreed, ActKind.PAYMENT_ENTERED, (deposit,), rug_id=rug_id)

    def _trimming(self, day: date) -> Iterator[Deed]:
        """Trim the pile up to the row that is reached, and note how high it stood."""
        if self.row < self.trimmed_to + TRIM_EVERY_ROWS:
            return
        self.trimmed_to = self.row
        trim = Trim(
            id=self.ids.new(),
            rug_id=self.plan.id,
            day=day,
            row=self.row,
            before_mm=self.plan.pile_height_mm + 4.0,
            after_mm=self.plan.pile_height_mm,
        )
        yield Deed(day, ActKind.PILE_TRIMMED, (trim,), rug_id=self.plan.id)

    def _lot(self, yarn: Yarn, day: date, mass_g: float, dye_lot: str, price_per_kg: float | None) -> Lot:
        if yarn.id in self.real.bought:
            self.real.bought[yarn.id] += mass_g
        return Lot(
            id=self.ids.new(),
            rug_id=self.plan.id,
            yarn_id=yarn.id,
            day=day,
            mass_g=float(mass_g),
            dye_lot=dye_lot,
            dyer=yarn.dyer,
            price=None if price_per_kg is None else round(price_per_kg * mass_g / 1000.0, 2),
        )

    def _buying(self) -> Iterator[Deed]:
        bought_on = self.first - timedelta(days=14)
        first_lots = []
        for yarn, (_n, mass_g, dye_lot, _ball, price) in zip(
            self.garden.pile, self.bought.values(), strict=True
        ):
            now_g = WALNUT_FIRST_G if yarn is self.by_name["walnut"] else mass_g
            first_lots.append(self._lot(yarn, bought_on, now_g, dye_lot, price))
        first_lots += [
            self._lot(self.garden.ground, bought_on, 1000, "", 14.0),
            self._lot(self.garden.sinuous, bought_on, 500, "", 14.0),
        ]
        first_lots.append(self._lot(self.garden.warp, bought_on, 1500, "", 14.0))
        yield Deed(bought_on, ActKind.YARN_BOUGHT, tuple(first_lots), rug_id=self.plan.id)

    def _sample(self) -> Iterator[Deed]:
        sample_knots = 500
        sample_g = round(sample_knots * self.g_each[self.by_name["madder"].id])
        self.real.gone[self.by_name["madder"].id] += sample_g
        sample_day = self.first - timedelta(days=10)
        yield Deed(
            sample_day,
            ActKind.SAMPLE_WEIGHED,
            (
                Sample(
                    id=self.ids.new(),
                    rug_id=self.plan.id,
                    yarn_id=self.by_name["madder"].id,
                    day=sample_day,
                    knots=sample_knots,
                    mass_g=float(sample_g),
                ),
                Spoilt(
                    id=self.ids.new(),
                    rug_id=self.plan.id,
                    yarn_id=self.by_name["madder"].id,
                    day=sample_day,
                    mass_g=float(sample_g),
                    note=_("Went into the sample."),
                ),
            ),
            rug_id=self.plan.id,
        )

    def _prepared(
        self, before: int, kind: PreparationKind, yarn: Yarn | None, count: int, hours: float
    ) -> Preparation:
        return Preparation(
            id=self.ids.new(),
            rug_id=self.plan.id,
            day=self.first - timedelta(days=before),
            kind=kind,
            yarn_id=yarn.id if yarn else None,
            count=count,
            hours=hours,
        )

    def _preparing(self) -> Iterator[Deed]:
        yield Deed(
            self.first - timedelta(days=6),
            ActKind.WARP_MOUNTED,
            (self._prepared(6, PreparationKind.WARP, None, 1, 9.5),),
            rug_id=self.plan.id,
        )
        yield Deed(
            self.first - timedelta(days=4),
            ActKind.BALLS_WOUND,
            tuple(
                self._prepared(4, PreparationKind.BALLS, self.by_name[name], count, hours)
                for name, count, hours in (
                    ("madder", 4, 1.5),
                    ("ivory", 4, 1.0),
                    ("walnut", 2, 0.5),
                    ("indigo", 2, 0.5),
                    ("green", 2, 0.5),
                    ("weld", 1, 0.5),
                    ("sky", 1, 0.5),
                    ("rose", 1, 0.5),
                )
            ),
            rug_id=self.plan.id,
        )
        yield Deed(
            self.first - timedelta(days=3),
            ActKind.SHUTTLES_MADE,
            (
                self._prepared(3, PreparationKind.SHUTTLES, self.garden.ground, 4, 1.5),
                self._prepared(3, PreparationKind.SHUTTLES, self.garden.sinuous, 3, 1.5),
            ),
            rug_id=self.plan.id,
        )

    def _weighing(self, yarn: Yarn, day: date, note: str = "") -> Deed:
        scale_g = self.real.left_g(yarn.id) + float(self.rng.normal(0.0, 1.5))
        value = Weighing(
            id=self.ids.new(),
            rug_id=self.plan.id,
            yarn_id=yarn.id,
            day=day,
            mass_g=5.0 * round(scale_g / 5.0),
            note=note,
        )
        return Deed(day, ActKind.YARN_WEIGHED, (value,), rug_id=self.plan.id)

    def _measurement(self, day: date) -> Deed:
        length_cm = _to_the_tape(self.row / self.plan.rows_per_10cm * 10.0 * SLACK)
        foot_cm = cloth_width_cm(self.plan)
        ahead_cm, lean_cm = AHEAD_SHARE * length_cm, LEAN_SHARE * length_cm
        left_cm, right_cm = length_cm - ahead_cm / 2.0, length_cm + ahead_cm / 2.0
        value = Measurement(
            id=self.ids.new(),
            rug_id=self.plan.id,
            day=day,
            row=self.row,
            length_cm=length_cm,
            width_cm=_to_the_tape(foot_cm * (1.0 - DRAWN_IN_SHARE * self.row / self.plan.rows)),
            left_cm=_to_the_tape(left_cm),
            right_cm=_to_the_tape(right_cm),
            rising_cm=_to_the_tape(math.hypot(foot_cm + lean_cm, right_cm)),
            falling_cm=_to_the_tape(math.hypot(foot_cm - lean_cm, left_cm)),
        )
        return Deed(day, ActKind.LENGTH_MEASURED, (value,), rug_id=self.plan.id)

    def _unpick(self, day: date) -> tuple[Spoilt, ...]:
        """Take rows out again; return what is lost."""
        out = self.knots[self.row - UNPICKED_ROWS : self.row].sum(axis=0)
        self.row -= UNPICKED_ROWS
        # The balls are lighter already; what came out is too short to knot again.
        return tuple(
            Spoilt(
                id=self.ids.new(),
                rug_id=self.plan.id,
                yarn_id=yarn.id,
                day=day,
                mass_g=float(round(many * self.g_each[yarn.id])),
                note=_("Out of the two unpicked rows."),
            )
            for yarn, many in zip(self.garden.pile, out, strict=True)
            if round(many * self.g_each[yarn.id]) >= 2
        )

    def _weave(self, count: int, together: bool) -> tuple[int, float, dict[str, int]]:
        """Weave session number `count`; return the rows gained, the hours noted and the balls that ended."""
        used: dict[str, int] = {}
        settled = 1.0 - np.exp(-(count + 0.5) / LEARNING_SESSIONS)
        rate = FIRST_RATE + (SETTLED_RATE - FIRST_RATE) * settled
        rate *= (TOGETHER_RATE if together else 1.0) * float(np.exp(self.rng.normal(0.0, 0.10)))
        meant_hours = float(self.rng.choice([2.0, 2.5, 3.0, 3.0, 3.5, 4.0]))
        took = np.cumsum(self.work[self.row :]) / rate
        rows = max(1, int(np.argmin(np.abs(took - meant_hours))) + 1)
        hours = to_half(float(took[rows - 1]))
        for yarn, many in zip(
            self.garden.pile, self.knots[self.row : self.row + rows].sum(axis=0), strict=True
        ):
            used[yarn.id] = self.real.take(yarn.id, float(many) * self.g_each[yarn.id])
        for weft in (self.garden.ground, self.garden.sinuous):
            used[weft.id] = self.real.take(weft.id, rows * self.g_each[weft.id])
        self.row += rows
        return rows, hours, used

    def _session(self, count: int, day: date) -> Iterator[Deed]:
        together = count % TOGETHER_EVERY == TOGETHER_EVERY - 1
        sat = self.weavers if together else (self.weavers[0],)
        used: dict[str, int] = {}
        lost: tuple[Spoilt, ...] = ()
        if count == UNPICKED_AT:
            rows, hours = -UNPICKED_ROWS, 1.0
            lost = self._unpick(day)
        else:
            rows, hours, used = self._weave(count, together)
        session = Session(
            id=self.ids.new(),
            rug_id=self.plan.id,
            day=day,
            rows=rows,
            hours=hours if count != 26 else None,
            weavers=tuple(weaver.id for weaver in sat),
            used=tuple((yarn_id, float(ended)) for yarn_id, ended in used.items() if ended),
            note=self.story.get(count, ""),
            unpicked_yarn=UnpickedYarn.SAID if lost else UnpickedYarn.GONE,
        )
        lost = tuple(replace(loss, session_id=session.id) for loss in lost)
        if count == 24:
            # Slips happen: a figure too many, put right a minute later.
            yield Deed(
                day, ActKind.SESSION_LOGGED, (replace(session, rows=rows * 10 + 1),), rug_id=self.plan.id
            )
            yield Deed(day, ActKind.SESSION_CORRECTED, (session,), rug_id=self.plan.id)
        else:
            kind = ActKind.ROWS_UNPICKED if lost else ActKind.SESSION_LOGGED
            yield Deed(day, kind, (session, *lost), rug_id=self.plan.id)
        if count == 12:
            double = replace(session, id=self.ids.new())
            yield Deed(day, ActKind.SESSION_LOGGED, (double,), rug_id=self.plan.id)
            yield Deed(day, ActKind.SESSION_WITHDRAWN, (), (double.id,), rug_id=self.plan.id)

    def _after(self, count: int, day: date) -> Iterator[Deed]:
        """Note what was trimmed, measured, bought and weighed after a session."""
        yield from self._trimming(day)
        if count == 14:
            yield self._measurement(day)
        if count == 20:
            second = self._lot(
                self.by_name["walnut"], day, self.bought[WALNUT][1] - WALNUT_FIRST_G, "W-4", 48.0
            )
            yield Deed(day, ActKind.YARN_BOUGHT, (second,), rug_id=self.plan.id)
        if count == 22:
            yield self._weighing(self.by_name["ivory"], day)
        if count == 28:
            yield self._weighing(self.garden.ground, day)
        if count == 31:
            yield self._measurement(day)
        if count == 34:
            yield self._weighing(self.by_name["indigo"], day, _("All balls and the rest of the skein."))
        if count == 36:
            yield self._weighing(self.by_name["madder"], day, _("That will not do."))

    def _wedding(self) -> Deed:
        off = DaysOff(
            id=self.ids.new(),
            rug_id=None,
            first_day=self.today + timedelta(days=12),
            last_day=self.today + timedelta(days=15),
            reason=_("Wedding in the village"),
        )
        return Deed(self.days[-1], ActKind.DAYS_OFF_ENTERED, (off,))
