"""Small invented rugs for tests."""

from __future__ import annotations

from datetime import date

from tracker.domain.rug import Role, RugBook, RugPlan, RugStage, Session, Weaver, Yarn


def plan(**changes) -> RugPlan:
    """A rug of 100 knots by 200 rows."""
    fields = {
        "id": "rug",
        "name": "Little field",
        "width_cm": 40.0,
        "length_cm": 80.0,
        "knots_per_10cm": 25.0,
        "rows_per_10cm": 25.0,
        "knots_across": 100,
        "rows": 200,
        "pile_height_mm": 8.0,
        "start_day": date(2026, 11, 2),
        "stage": RugStage.ON_LOOM,
        "hours_per_week": 15.0,
        "knots_per_hour": 500.0,
    }
    return RugPlan(**{**fields, **changes})


def yarns() -> tuple[Yarn, ...]:
    """Two colours of equal share and one weft."""
    return (
        Yarn(
            id="red",
            rug_id="rug",
            role=Role.PILE,
            number=1,
            name="Madder",
            swatch="#9C2F25",
            share=0.5,
            tex=600,
        ),
        Yarn(
            id="blue",
            rug_id="rug",
            role=Role.PILE,
            number=2,
            name="Indigo",
            swatch="#27406B",
            share=0.5,
            tex=600,
        ),
        Yarn(id="weft", rug_id="rug", role=Role.WEFT, number=1, name="Ground weft", tex=400, unit_mass_g=100),
    )


def session(number: int, rows: int, hours: float | None = 3.0, **changes) -> Session:
    """Session `number`, one a day from 2 November on."""
    fields = {
        "id": f"s{number}",
        "rug_id": "rug",
        "day": date(2026, 11, 1 + number),
        "rows": rows,
        "hours": hours,
        "weavers": ("ann",),
        "born": number,
    }
    return Session(**{**fields, **changes})


def book(*sessions: Session, **changes) -> RugBook:
    """The rug with these sessions."""
    fields = {
        "plan": plan(),
        "yarns": yarns(),
        "weavers": (Weaver(id="ann", name="Ann"), Weaver(id="bo", name="Bo")),
        "sessions": sessions,
    }
    return RugBook(**{**fields, **changes})


def someone(name: str) -> Weaver:
    """Somebody who is not in the book yet."""
    return Weaver(id=f"new {name}", name=name)
