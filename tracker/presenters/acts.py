"""The kinds of act as the weaver meets them: their words, their icons, and where the diary's filters find them."""

from __future__ import annotations

from dataclasses import dataclass

from tracker.domain.act import ActKind
from tracker.words import _


def act_labels() -> dict[ActKind, str]:
    """Return what each kind of act is called."""
    return {
        ActKind.SESSION_LOGGED: _("Session"),
        ActKind.SESSION_CORRECTED: _("Session corrected"),
        ActKind.ROWS_UNPICKED: _("Rows unpicked"),
        ActKind.SESSION_WITHDRAWN: _("Session deleted"),
        ActKind.YARN_BOUGHT: _("Yarn bought"),
        ActKind.YARN_WEIGHED: _("Yarn weighed"),
        ActKind.YARN_SPOILT: _("Yarn lost"),
        ActKind.YARN_MOVED: _("Yarn moved"),
        ActKind.LOT_CHANGE_PLANNED: _("Change of dye lot planned"),
        ActKind.LOT_OPENED: _("Dye lot opened"),
        ActKind.LOT_AS_WEIGHED: _("Entry corrected"),
        ActKind.YARN_USED_UP: _("Yarn used up"),
        ActKind.SAMPLE_WEIGHED: _("Sample weighed"),
        ActKind.MISTAKE_MARKED: _("Mistake marked"),
        ActKind.MISTAKE_MENDED: _("Mistake mended"),
        ActKind.LENGTH_MEASURED: _("Cloth measured"),
        ActKind.MEASUREMENT_WITHDRAWN: _("Measurement of the cloth deleted"),
        ActKind.HOLD_CHANGED: _("Rows or length fixed"),
        ActKind.DAYS_OFF_ENTERED: _("Days off"),
        ActKind.DAYS_OFF_WITHDRAWN: _("Days off deleted"),
        ActKind.BALLS_WOUND: _("Balls wound"),
        ActKind.SHUTTLES_MADE: _("Shuttles made"),
        ActKind.WARP_MOUNTED: _("Warp mounted"),
        ActKind.PREPARATION_DONE: _("Preparation"),
        ActKind.PHOTO_ADDED: _("Picture"),
        ActKind.ENTRY_CORRECTED: _("Entry corrected"),
        ActKind.ENTRY_WITHDRAWN: _("Entry deleted"),
        ActKind.ENTRY_RESTORED: _("Entry restored"),
        ActKind.RUG_PLANNED: _("Rug planned"),
        ActKind.PLAN_CHANGED: _("Plan changed"),
        ActKind.CARTOON_MENDED: _("Cartoon mended"),
        ActKind.RUG_PUT_ON_LOOM: _("Rug put on the loom"),
        ActKind.RUG_FINISHED: _("Rug finished"),
        ActKind.RUG_WITHDRAWN: _("Rug deleted"),
        ActKind.FINISHED_SIZE_MEASURED: _("Finished size"),
        ActKind.WASHING_MEASURED: _("Measured before and after washing"),
        ActKind.PILE_TRIMMED: _("Pile trimmed"),
        ActKind.BALLS_HANDED_OUT: _("Balls handed out"),
        ActKind.TRIM_INTERVAL_SET: _("How often to trim"),
        ActKind.WISH_CHANGED: _("Target date"),
        ActKind.LESSONS_TAKEN_OVER: _("Lessons taken over"),
        ActKind.STEPS_ENTERED: _("Steps after weaving"),
        ActKind.STEP_ENTERED: _("Step after weaving"),
        ActKind.STEP_CHANGED: _("Step after weaving changed"),
        ActKind.STEP_TICKED: _("Step after weaving"),
        ActKind.STEP_WITHDRAWN: _("Step after weaving deleted"),
        ActKind.WEAVER_ADDED: _("Weaver"),
        ActKind.WEAVER_RENAMED: _("Weaver renamed"),
        ActKind.WEAVERS_ENTERED: _("Weavers"),
        ActKind.WAGE_ENTERED: _("Wage"),
        ActKind.MONEY_SPENT: _("Money spent"),
        ActKind.PRICE_MADE: _("Price"),
        ActKind.ORDER_CHANGED: _("Order changed"),
        ActKind.PAYMENT_ENTERED: _("Payment"),
        ActKind.LOOM_ENTERED: _("Loom"),
        ActKind.SETTING_CHANGED: _("Setting"),
        ActKind.UNDONE: _("Undone"),
        ActKind.JOIN_UNDONE: _("Undone: what another phone's file brought"),
        ActKind.WENT_BACK_TO_COPY: _("Went back to a copy"),
        ActKind.RESCUED: _("Rescued from a damaged book"),
    }


def deed_words(kind: str) -> str:
    """Say what somebody did; `kind` is the act's kind as the book keeps it, also one of a later version."""
    if kind in set(ActKind):
        return act_labels()[ActKind(kind)]
    return kind[:1].upper() + kind[1:]


ICONS: dict[ActKind, str] = {
    ActKind.SESSION_LOGGED: "row",
    ActKind.SESSION_CORRECTED: "row",
    ActKind.ROWS_UNPICKED: "row",
    ActKind.SESSION_WITHDRAWN: "row",
    ActKind.YARN_BOUGHT: "buy",
    ActKind.YARN_WEIGHED: "weigh",
    ActKind.YARN_SPOILT: "spoilt",
    ActKind.YARN_MOVED: "skein",
    ActKind.LOT_CHANGE_PLANNED: "skein",
    ActKind.LOT_OPENED: "skein",
    ActKind.LOT_AS_WEIGHED: "edit",
    ActKind.YARN_USED_UP: "ball",
    ActKind.SAMPLE_WEIGHED: "knot",
    ActKind.MISTAKE_MARKED: "flag",
    ActKind.MISTAKE_MENDED: "flag",
    ActKind.LENGTH_MEASURED: "measure",
    ActKind.MEASUREMENT_WITHDRAWN: "measure",
    ActKind.HOLD_CHANGED: "rug",
    ActKind.DAYS_OFF_ENTERED: "calendar",
    ActKind.DAYS_OFF_WITHDRAWN: "calendar",
    ActKind.BALLS_WOUND: "wind",
    ActKind.SHUTTLES_MADE: "wind",
    ActKind.WARP_MOUNTED: "wind",
    ActKind.PREPARATION_DONE: "wind",
    ActKind.PHOTO_ADDED: "photo",
    ActKind.ENTRY_CORRECTED: "edit",
    ActKind.ENTRY_WITHDRAWN: "withdraw",
    ActKind.ENTRY_RESTORED: "restore",
    ActKind.RUG_PLANNED: "rug",
    ActKind.PLAN_CHANGED: "rug",
    ActKind.CARTOON_MENDED: "edit",
    ActKind.RUG_PUT_ON_LOOM: "rug",
    ActKind.RUG_FINISHED: "rug",
    ActKind.RUG_WITHDRAWN: "rug",
    ActKind.FINISHED_SIZE_MEASURED: "measure",
    ActKind.WASHING_MEASURED: "measure",
    ActKind.PILE_TRIMMED: "scissors",
    ActKind.BALLS_HANDED_OUT: "wind",
    ActKind.TRIM_INTERVAL_SET: "scissors",
    ActKind.WISH_CHANGED: "rug",
    ActKind.LESSONS_TAKEN_OVER: "rug",
    ActKind.STEPS_ENTERED: "scissors",
    ActKind.STEP_ENTERED: "scissors",
    ActKind.STEP_CHANGED: "scissors",
    ActKind.STEP_TICKED: "scissors",
    ActKind.STEP_WITHDRAWN: "scissors",
    ActKind.WEAVER_ADDED: "person",
    ActKind.WEAVER_RENAMED: "person",
    ActKind.WEAVERS_ENTERED: "person",
    ActKind.WAGE_ENTERED: "money",
    ActKind.MONEY_SPENT: "money",
    ActKind.PRICE_MADE: "money",
    ActKind.ORDER_CHANGED: "person",
    ActKind.PAYMENT_ENTERED: "money",
    ActKind.LOOM_ENTERED: "warp",
    ActKind.SETTING_CHANGED: "settings",
    ActKind.UNDONE: "undo",
    ActKind.JOIN_UNDONE: "undo",
    ActKind.WENT_BACK_TO_COPY: "restore",
    ActKind.RESCUED: "restore",
}


OF_ANY_ENTRY = (
    ActKind.ENTRY_CORRECTED,
    ActKind.ENTRY_WITHDRAWN,
    ActKind.ENTRY_RESTORED,
    ActKind.LOT_AS_WEIGHED,
)
"""Kinds that the icon of the entry itself says more of."""


def icon_of(kind: str) -> str | None:
    """Return the icon of a kind of act; None for one of a later version."""
    return ICONS[ActKind(kind)] if kind in set(ActKind) else None


FILTERS: dict[ActKind, tuple[str, ...]] = {
    ActKind.SESSION_LOGGED: ("sessions",),
    ActKind.SESSION_CORRECTED: (
        "sessions",
        "mended",
    ),
    ActKind.ROWS_UNPICKED: (
        "sessions",
        "yarn",
    ),
    ActKind.SESSION_WITHDRAWN: (
        "sessions",
        "mended",
    ),
    ActKind.YARN_BOUGHT: ("yarn",),
    ActKind.YARN_WEIGHED: ("yarn",),
    ActKind.YARN_SPOILT: ("yarn",),
    ActKind.YARN_MOVED: ("yarn",),
    ActKind.LOT_CHANGE_PLANNED: ("yarn",),
    ActKind.LOT_OPENED: ("yarn",),
    ActKind.LOT_AS_WEIGHED: ("yarn", "mended"),
    ActKind.YARN_USED_UP: (
        "sessions",
        "yarn",
    ),
    ActKind.SAMPLE_WEIGHED: ("yarn",),
    ActKind.MISTAKE_MARKED: ("plan",),
    ActKind.MISTAKE_MENDED: ("plan",),
    ActKind.LENGTH_MEASURED: ("plan",),
    ActKind.MEASUREMENT_WITHDRAWN: (
        "plan",
        "mended",
    ),
    ActKind.HOLD_CHANGED: ("plan",),
    ActKind.DAYS_OFF_ENTERED: ("plan",),
    ActKind.DAYS_OFF_WITHDRAWN: (
        "plan",
        "mended",
    ),
    ActKind.BALLS_WOUND: ("prepared",),
    ActKind.SHUTTLES_MADE: ("prepared",),
    ActKind.WARP_MOUNTED: ("prepared",),
    ActKind.PREPARATION_DONE: ("prepared",),
    ActKind.BALLS_HANDED_OUT: ("prepared",),
    ActKind.PHOTO_ADDED: ("photos",),
    ActKind.ENTRY_CORRECTED: ("mended",),
    ActKind.ENTRY_WITHDRAWN: ("mended",),
    ActKind.ENTRY_RESTORED: ("mended",),
    ActKind.RUG_PLANNED: ("plan",),
    ActKind.PLAN_CHANGED: ("plan",),
    ActKind.CARTOON_MENDED: ("plan",),
    ActKind.RUG_PUT_ON_LOOM: ("plan",),
    ActKind.RUG_FINISHED: ("plan",),
    ActKind.RUG_WITHDRAWN: ("plan",),
    ActKind.FINISHED_SIZE_MEASURED: ("plan",),
    ActKind.WASHING_MEASURED: ("plan",),
    ActKind.PILE_TRIMMED: ("plan",),
    ActKind.TRIM_INTERVAL_SET: ("plan",),
    ActKind.WISH_CHANGED: ("plan",),
    ActKind.LESSONS_TAKEN_OVER: ("plan",),
    ActKind.STEPS_ENTERED: ("plan",),
    ActKind.STEP_ENTERED: ("plan",),
    ActKind.STEP_CHANGED: ("plan",),
    ActKind.STEP_TICKED: ("plan",),
    ActKind.STEP_WITHDRAWN: (
        "plan",
        "mended",
    ),
    ActKind.WEAVER_ADDED: ("other",),
    ActKind.WEAVER_RENAMED: ("other", "mended"),
    ActKind.WEAVERS_ENTERED: ("other",),
    ActKind.WAGE_ENTERED: ("money",),
    ActKind.MONEY_SPENT: ("money",),
    ActKind.PRICE_MADE: ("money",),
    ActKind.ORDER_CHANGED: ("money",),
    ActKind.PAYMENT_ENTERED: ("money",),
    ActKind.LOOM_ENTERED: ("plan",),
    ActKind.SETTING_CHANGED: ("other",),
    ActKind.UNDONE: ("mended",),
    ActKind.JOIN_UNDONE: ("mended",),
    ActKind.WENT_BACK_TO_COPY: ("mended",),
    ActKind.RESCUED: ("mended",),
}
"""The keys of the filters that let a kind of act through."""


@dataclass(frozen=True, slots=True)
class Filter:
    """One way to narrow the diary by kind."""

    key: str
    label: str
    kinds: tuple[str, ...] | None
    """None lets everything through, kinds of a later version too."""


def filters() -> tuple[Filter, ...]:
    """Return the ways to narrow the diary, everything first."""

    def narrowed(key: str, label: str) -> Filter:
        return Filter(key, label, tuple(kind.value for kind, keys in FILTERS.items() if key in keys))

    return (
        Filter("all", _("Everything"), None),
        narrowed("sessions", _("Sessions")),
        narrowed("yarn", _("Yarn")),
        narrowed("prepared", _("Preparation")),
        narrowed("plan", _("Plan, days off and measures")),
        narrowed("photos", _("Pictures")),
        narrowed("money", _("Wages, spending and price")),
        narrowed("mended", _("Corrections and what was undone")),
        narrowed("other", _("Weavers and settings")),
    )


def filter_of(key: str) -> Filter:
    """Return a filter by its key; an unknown key lets everything through."""
    return next((each for each in filters() if each.key == key), filters()[0])
