"""The tables of a book, as the newest schema has them.

The book is a log that only grows. An `act` is one deed of the weaver; it writes versions of records. A version
holds a whole value; the newest version of a record (by its act's count, then device, then act id) is what counts.
Nothing is updated or deleted but `tally`, `torn` and `here`, which can be worked out again from the rest; a torn act
that becomes whole gets its versions numbered anew, for they stand in the order in which they were written.

Columns of a version are named as the fields of its value in `tracker.domain.rug`. They hold what SQLite itself
stores (days as ISO text, small lists as JSON text), because every row carries a seal over exactly that.
A column added by a later migration must be nullable: NULL stands for the value's default, so old seals stay true.
"""

from __future__ import annotations

from typing import ClassVar

from sqlalchemy import BigInteger, Float, ForeignKey, Index, Integer, LargeBinary, String, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, declared_attr, mapped_column


class Base(DeclarativeBase):
    """Base of every table."""

    # The two ends of SQLAlchemy that the app runs on differ in their default for floats.
    type_annotation_map: ClassVar[dict[type, object]] = {float: Float()}


class Device(Base):
    """A phone that wrote into this book."""

    __tablename__ = "device"

    device_id: Mapped[str] = mapped_column(String, primary_key=True)
    name: Mapped[str] = mapped_column(String)
    seal: Mapped[int] = mapped_column(BigInteger)


class Here(Base):
    """Which device this file lives on, and the count it must never fall behind. One row."""

    __tablename__ = "here"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    device_id: Mapped[str] = mapped_column(ForeignKey("device.device_id"))


class Act(Base):
    """One deed of the weaver: one transaction."""

    __tablename__ = "act"

    number: Mapped[int] = mapped_column(Integer, primary_key=True)
    """Of this file only; another phone numbers the same act otherwise."""
    act_id: Mapped[str] = mapped_column(String, unique=True)
    device_id: Mapped[str] = mapped_column(ForeignKey("device.device_id"))
    clock: Mapped[int] = mapped_column(BigInteger, index=True)
    """Lamport count: one more than the largest this phone had seen. It orders acts whatever the phone's clock says."""
    made_at: Mapped[int] = mapped_column(BigInteger)
    """The phone's clock, microseconds since 1970 in UTC; only told, never used for order."""
    kind: Mapped[str] = mapped_column(String)
    rug_id: Mapped[str | None] = mapped_column(String)
    undoes_id: Mapped[str | None] = mapped_column(String, index=True)
    versions: Mapped[int] = mapped_column(Integer)
    """How many versions it wrote: a half act is noticed. 0: the act itself was lost, its versions were rescued."""
    seal: Mapped[int] = mapped_column(BigInteger)

    __table_args__ = (Index("ix_act_rug_id_clock", "rug_id", "clock"),)


class Tally(Base):
    """For each rug and kind, how many versions there are and the sum of their seals: a lost row is noticed."""

    __tablename__ = "tally"

    number: Mapped[int] = mapped_column(Integer, primary_key=True)
    rug_id: Mapped[str] = mapped_column(String)
    """Empty: of the whole book."""
    kind: Mapped[str] = mapped_column(String)
    versions: Mapped[int] = mapped_column(Integer)
    seals: Mapped[int] = mapped_column(BigInteger)

    __table_args__ = (UniqueConstraint("rug_id", "kind", name="uq_tally_rug_id_kind"),)


class Torn(Base):
    """An act of which a damaged book gave back only a part; joining another phone's book may make it whole."""

    __tablename__ = "torn"

    act_id: Mapped[str] = mapped_column(String, primary_key=True)


class Version:
    """What the version tables share. One row is one whole version, never updated, never deleted.

    A row repeats what its seal speaks of (rug, device, count), so that it can be read and proven by itself: a rug is
    read without a join, and a version survives the loss of the page that held its act.
    """

    version: Mapped[int] = mapped_column(Integer, primary_key=True, sort_order=-9)
    """Of this file only."""
    record_id: Mapped[str] = mapped_column(String, sort_order=-8)
    """The identity of what was entered."""
    rug_id: Mapped[str | None] = mapped_column(String, sort_order=-7)
    act_id: Mapped[str] = mapped_column(ForeignKey("act.act_id"), sort_order=-6)
    device_id: Mapped[str] = mapped_column(String, sort_order=-5)
    clock: Mapped[int] = mapped_column(BigInteger, sort_order=-4)
    follows: Mapped[str | None] = mapped_column(String, sort_order=-3)
    """The act id of the version this one took the place of, as its writer saw it."""
    withdrawn: Mapped[int] = mapped_column(Integer, sort_order=-2)
    seal: Mapped[int] = mapped_column(BigInteger, sort_order=-1)

    @declared_attr.directive
    def __table_args__(cls) -> tuple[UniqueConstraint, Index, Index]:
        name = cls.__tablename__  # type: ignore[attr-defined]
        return (
            UniqueConstraint("record_id", "act_id", name=f"uq_{name}_record_id_act_id"),
            Index(f"ix_{name}_rug_id", "rug_id"),
            Index(f"ix_{name}_act_id", "act_id"),
        )


class RugPlanVersion(Version, Base):
    """A version of a rug's plan."""

    __tablename__ = "rug_plan"

    name: Mapped[str]
    width_cm: Mapped[float]
    length_cm: Mapped[float]
    knots_per_10cm: Mapped[float]
    rows_per_10cm: Mapped[float]
    knots_across: Mapped[int]
    rows: Mapped[int]
    pile_height_mm: Mapped[float]
    knot_kind: Mapped[str]
    weekdays: Mapped[str]
    hours_per_week: Mapped[float]
    weavers_planned: Mapped[int]
    start_day: Mapped[str]
    wished_day: Mapped[str | None]
    stage: Mapped[str]
    finished_day: Mapped[str | None]
    hold: Mapped[str]
    knots_per_hour: Mapped[float | None]
    selvedge_warps: Mapped[int]
    end_cm: Mapped[float]
    fringe_cm: Mapped[float]
    loom_waste_cm: Mapped[float]
    loom_width_cm: Mapped[float | None]
    beam_roll_cm: Mapped[float | None]
    notes: Mapped[str]
    raj_cm: Mapped[float | None]
    unshorn_mm: Mapped[float | None]
    jufti_share: Mapped[float | None]
    warp_offset_degrees: Mapped[float | None]
    size_measure: Mapped[str | None]
    loom_shrinkage: Mapped[float | None]
    wash_shrinkage_width: Mapped[float | None]
    wash_shrinkage_length: Mapped[float | None]
    finished_width_cm: Mapped[float | None]
    finished_length_cm: Mapped[float | None]
    unwashed_width_cm: Mapped[float | None]
    unwashed_length_cm: Mapped[float | None]
    unwashed_g: Mapped[float | None]
    washed_g: Mapped[float | None]
    trim_every_rows: Mapped[int | None]
    loom_id: Mapped[str | None]
    warp_after: Mapped[str | None]
    warp_lay: Mapped[str | None]
    warp_gap_cm: Mapped[float | None]


class CartoonVersion(Version, Base):
    """A version of a rug's cartoon."""

    __tablename__ = "cartoon"

    cells: Mapped[bytes] = mapped_column(LargeBinary)
    """Rows and knots as two 32-bit numbers, then the zlib-compressed cells."""
    palette: Mapped[str]
    source_name: Mapped[str]


class YarnVersion(Version, Base):
    """A version of a yarn."""

    __tablename__ = "yarn"

    role: Mapped[str]
    number: Mapped[int]
    name: Mapped[str]
    swatch: Mapped[str]
    share: Mapped[float | None]
    cartoon_values: Mapped[str]
    count: Mapped[str]
    tex: Mapped[float]
    fibre: Mapped[str]
    unit_mass_g: Mapped[float]
    passes_per_row: Mapped[int]
    take_up: Mapped[float | None]
    cut_length_mm: Mapped[float | None]
    pile_g_per_m2: Mapped[float | None]
    skein_g: Mapped[float]
    least_purchase_g: Mapped[float]
    margin: Mapped[float]
    price_per_kg: Mapped[float | None]
    dyer: Mapped[str]
    lead_days: Mapped[int]
    twist_contraction: Mapped[float | None]
    per_cm: Mapped[float | None]
    pieces: Mapped[int | None]


class WeaverVersion(Version, Base):
    """A version of a weaver."""

    __tablename__ = "weaver"

    name: Mapped[str]


class SessionVersion(Version, Base):
    """A version of a session."""

    __tablename__ = "session"

    day: Mapped[str]
    rows: Mapped[int]
    hours: Mapped[float | None]
    weavers: Mapped[str]
    used: Mapped[str]
    note: Mapped[str]
    places: Mapped[str | None]
    ahead: Mapped[str | None]
    begun_knots: Mapped[int | None]
    unpicked_yarn: Mapped[str | None]
    hours_from: Mapped[str | None]


class LotVersion(Version, Base):
    """A version of a lot."""

    __tablename__ = "lot"

    yarn_id: Mapped[str]
    day: Mapped[str]
    mass_g: Mapped[float]
    dye_lot: Mapped[str]
    dyer: Mapped[str]
    price: Mapped[float | None]
    weighed_g: Mapped[float | None]
    regain: Mapped[float | None]


class WeighingVersion(Version, Base):
    """A version of a weighing."""

    __tablename__ = "weighing"

    yarn_id: Mapped[str]
    day: Mapped[str]
    mass_g: Mapped[float]
    resolution_g: Mapped[float]
    note: Mapped[str]
    weighed_g: Mapped[float | None]
    regain: Mapped[float | None]


class SpoiltVersion(Version, Base):
    """A version of yarn lost for the rug."""

    __tablename__ = "spoilt"

    yarn_id: Mapped[str]
    day: Mapped[str]
    mass_g: Mapped[float]
    note: Mapped[str]
    session_id: Mapped[str | None]


class CartoonMarkVersion(Version, Base):
    """A version of a place marked on the cartoon."""

    __tablename__ = "cartoon_mark"

    day: Mapped[str]
    row: Mapped[int]
    first_knot: Mapped[int]
    last_knot: Mapped[int]
    kind: Mapped[str]
    note: Mapped[str]
    mended_day: Mapped[str | None]


class LotChangeVersion(Version, Base):
    """A version of a change from one dye lot to another."""

    __tablename__ = "lot_change"

    yarn_id: Mapped[str]
    lot_id: Mapped[str]
    day: Mapped[str]
    row: Mapped[int]
    blend_rows: Mapped[int]
    done_day: Mapped[str | None]


class LotMoveVersion(Version, Base):
    """A version of yarn moved between rugs and the shelf."""

    __tablename__ = "lot_move"

    lot_id: Mapped[str]
    day: Mapped[str]
    mass_g: Mapped[float]
    from_rug_id: Mapped[str | None]
    from_yarn_id: Mapped[str | None]
    to_rug_id: Mapped[str | None]
    to_yarn_id: Mapped[str | None]


class SampleVersion(Version, Base):
    """A version of a knotted and weighed sample."""

    __tablename__ = "sample"

    yarn_id: Mapped[str]
    day: Mapped[str]
    knots: Mapped[int]
    mass_g: Mapped[float]
    resolution_g: Mapped[float]


class MeasurementVersion(Version, Base):
    """A version of what was measured of the cloth on the loom."""

    __tablename__ = "measurement"

    day: Mapped[str]
    row: Mapped[int]
    length_cm: Mapped[float]
    resolution_cm: Mapped[float]
    width_cm: Mapped[float | None]
    left_cm: Mapped[float | None]
    right_cm: Mapped[float | None]
    rising_cm: Mapped[float | None]
    falling_cm: Mapped[float | None]


class DaysOffVersion(Version, Base):
    """A version of days off."""

    __tablename__ = "days_off"

    first_day: Mapped[str]
    last_day: Mapped[str]
    reason: Mapped[str]


class PreparationVersion(Version, Base):
    """A version of preparation done."""

    __tablename__ = "preparation"

    day: Mapped[str]
    kind: Mapped[str]
    yarn_id: Mapped[str | None]
    count: Mapped[int]
    hours: Mapped[float | None]


class AfterStepVersion(Version, Base):
    """A version of a step after the last row."""

    __tablename__ = "after_step"

    number: Mapped[int]
    name: Mapped[str]
    days: Mapped[float]
    done_day: Mapped[str | None]


class PhotoVersion(Version, Base):
    """A version of a photo's entry; the picture itself lies in the book's photo folder."""

    __tablename__ = "photo"

    day: Mapped[str]
    file_name: Mapped[str]
    caption: Mapped[str]
    linked_id: Mapped[str | None]


class SettingVersion(Version, Base):
    """A version of a setting."""

    __tablename__ = "setting"

    value: Mapped[str]


class WageVersion(Version, Base):
    """A version of a wage."""

    __tablename__ = "wage"

    weaver_id: Mapped[str | None]
    basis: Mapped[str]
    amount: Mapped[float]
    each: Mapped[int]
    first_day: Mapped[str | None]


class CostVersion(Version, Base):
    """A version of money spent."""

    __tablename__ = "cost"

    day: Mapped[str]
    kind: Mapped[str]
    amount: Mapped[float]
    note: Mapped[str]


class PricingVersion(Version, Base):
    """A version of how a rug's price is made."""

    __tablename__ = "pricing"

    margin: Mapped[float | None]
    shown: Mapped[str]


class TrimVersion(Version, Base):
    """A version of the pile trimmed on the loom."""

    __tablename__ = "trim"

    day: Mapped[str]
    row: Mapped[int]
    before_mm: Mapped[float | None]
    after_mm: Mapped[float | None]
    note: Mapped[str]


class OrderVersion(Version, Base):
    """A version of the order behind a rug."""

    __tablename__ = "rug_order"

    customer: Mapped[str]
    promised_day: Mapped[str | None]
    price: Mapped[float | None]
    way: Mapped[str]
    address: Mapped[str]
    delivered_day: Mapped[str | None]
    note: Mapped[str]
    shown: Mapped[str]


class PaymentVersion(Version, Base):
    """A version of what a customer paid."""

    __tablename__ = "payment"

    day: Mapped[str]
    amount: Mapped[float]
    kind: Mapped[str]
    note: Mapped[str]


class LoomVersion(Version, Base):
    """A version of a loom."""

    __tablename__ = "loom"

    name: Mapped[str]
    kind: Mapped[str]
    width_cm: Mapped[float | None]
    longest_warp_cm: Mapped[float | None]
    waste_cm: Mapped[float | None]
    seats: Mapped[int]
    note: Mapped[str]


class HandOutVersion(Version, Base):
    """A version of balls handed out to a weaver, or taken back."""

    __tablename__ = "hand_out"

    yarn_id: Mapped[str]
    weaver_id: Mapped[str | None]
    kind: Mapped[str]
    day: Mapped[str]
    balls: Mapped[float]
    mass_g: Mapped[float]
    lot_id: Mapped[str | None]
    note: Mapped[str]
