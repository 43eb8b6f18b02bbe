"""The kinds of act a weaver can do. Their words stand in every book: a kind may be added, none may be renamed."""

from __future__ import annotations

from enum import StrEnum


class ActKind(StrEnum):
    """What an act did, as the book keeps it."""

    SESSION_LOGGED = "session logged"
    SESSION_CORRECTED = "session corrected"
    ROWS_UNPICKED = "rows unpicked"
    SESSION_WITHDRAWN = "session withdrawn"
    YARN_BOUGHT = "yarn bought"
    YARN_WEIGHED = "yarn weighed"
    YARN_SPOILT = "yarn spoilt"
    YARN_MOVED = "yarn moved"
    LOT_CHANGE_PLANNED = "change of lot planned"
    LOT_OPENED = "lot opened"
    LOT_AS_WEIGHED = "lot corrected by a weighing"
    YARN_USED_UP = "yarn used up"
    BALLS_HANDED_OUT = "balls handed out"
    SAMPLE_WEIGHED = "sample weighed"
    MISTAKE_MARKED = "mistake marked"
    MISTAKE_MENDED = "mistake mended"
    LENGTH_MEASURED = "length measured"
    MEASUREMENT_WITHDRAWN = "measurement withdrawn"
    HOLD_CHANGED = "hold changed"
    DAYS_OFF_ENTERED = "days off entered"
    DAYS_OFF_WITHDRAWN = "days off withdrawn"
    BALLS_WOUND = "balls wound"
    SHUTTLES_MADE = "shuttles made"
    WARP_MOUNTED = "warp mounted"
    PREPARATION_DONE = "preparation done"
    PHOTO_ADDED = "photo added"
    ENTRY_CORRECTED = "entry corrected"
    ENTRY_WITHDRAWN = "entry withdrawn"
    ENTRY_RESTORED = "entry restored"
    RUG_PLANNED = "rug planned"
    PLAN_CHANGED = "plan changed"
    CARTOON_MENDED = "cartoon mended"
    RUG_PUT_ON_LOOM = "rug put on the loom"
    RUG_FINISHED = "rug finished"
    FINISHED_SIZE_MEASURED = "finished size measured"
    PILE_TRIMMED = "pile trimmed"
    TRIM_INTERVAL_SET = "trimming interval set"
    WASHING_MEASURED = "washing measured"
    RUG_WITHDRAWN = "rug withdrawn"
    WISH_CHANGED = "wished-for day changed"
    LESSONS_TAKEN_OVER = "lessons taken over"
    STEPS_ENTERED = "steps entered"
    STEP_ENTERED = "step entered"
    STEP_CHANGED = "step changed"
    STEP_TICKED = "step ticked"
    STEP_WITHDRAWN = "step withdrawn"
    WEAVER_ADDED = "weaver added"
    WEAVER_RENAMED = "weaver renamed"
    WEAVERS_ENTERED = "weavers entered"
    WAGE_ENTERED = "wage entered"
    MONEY_SPENT = "money spent"
    PRICE_MADE = "price made"
    ORDER_CHANGED = "order changed"
    PAYMENT_ENTERED = "payment entered"
    LOOM_ENTERED = "loom entered"
    SETTING_CHANGED = "setting changed"
    UNDONE = "undone"
    JOIN_UNDONE = "join taken back"
    WENT_BACK_TO_COPY = "went back to a copy"
    RESCUED = "rescued"


CORRECTIONS = (ActKind.SESSION_CORRECTED, ActKind.ENTRY_CORRECTED, ActKind.LOT_AS_WEIGHED)
"""Kinds of act that put an entry right."""

BRINGING_BACK = (
    ActKind.UNDONE,
    ActKind.JOIN_UNDONE,
    ActKind.WENT_BACK_TO_COPY,
    ActKind.RESCUED,
    ActKind.ENTRY_RESTORED,
)
"""Kinds of act that bring back what the book said before."""
