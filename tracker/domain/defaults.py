"""Every starting value of the sums, each with its source; what a weaver measures replaces them.

A `Default` is an ordinary number that remembers its unit and where it comes from, so that a screen can show both.
Sources that a screen shows are marked, and translated there.
"""

from __future__ import annotations

from tracker.words import mark

NO_SOURCE = mark("common practice, no source")
MEMORY = "handbook value, from memory"


class Default(float):
    """A number with its `unit` and its `source`."""

    unit: str
    source: str

    def __new__(cls, value: float, unit: str, source: str) -> Default:
        """Make the number `value`."""
        number = super().__new__(cls, value)
        number.unit = unit
        number.source = source
        return number

    def __getnewargs__(self) -> tuple[float, str, str]:  # type: ignore[override]
        """Return what rebuilds the value when it is copied or pickled."""
        return (float(self), self.unit, self.source)


# --- work -------------------------------------------------------------------------------------------------

KNOTS_PER_HOUR = Default(
    750.0,
    "knots/h",
    mark(
        "6,000 knots in a day of 8 hours, about the middle of what is published: 300 an hour to almost 10,000 a day "
        "(artisanrugs.com; victorlidchi.co.za; rugsdoneright.blogspot.com; mueller.art; Wikipedia)"
    ),
)
RATE_SD_NAMED = Default(0.23, "log", "spread of the true rate about the rate the plan names; no source")
RATE_SD_ASSUMED = Default(
    0.40,
    "log",
    "spread of the true rate about the usual one: eight weavers in ten then tie 450 to 1,250 knots an hour, within what "
    "the same sources say",
)
CHANGE_KNOTS = (0.3, 0.7, 1.3, 2.4)
CHANGE_KNOTS_CHANCE = (0.2, 0.35, 0.3, 0.15)
"""A change of yarn costs the time of so many plain knots, with these odds; no source."""
CHANGES_PER_COLOUR = Default(
    4.0, "changes", "without a cartoon, changes of yarn in a row for every colour beyond the first; no source"
)
LEARN_EXCESS = Default(0.25, "log", "excess of the first hour's cost over the learnt cost; no source")
LEARN_SD = Default(
    0.22,
    "log",
    "spread of that excess: each doubling of practice brings hand work to 80 to 95 % of the time (Wright's curve; from memory), "
    "which from the first hours of a rug to its last saves a tenth or a half",
)
LEARN_HOURS = (12.0, 60.0, 250.0)
LEARN_HOURS_CHANCE = (0.2, 0.3, 0.5)
LEARN_HOURS_PART = (1.0, 1.0, 0.75)
"""Hours at the loom in which that excess falls to 37 %, with these odds; a slow fall is a smaller one, by so much (mean
and spread). Practice goes on paying for the whole rug (power
law of practice; A. Newell, P. S. Rosenbloom, in Cognitive Skills and their Acquisition, 1981; from memory)."""
TEAM_POWER = Default(0.9, "power", "a team of n does the work of n to this power; no source")
UNPICK_HOURS = (1.0, 50.0)
"""Hours lost to evenings that gained nothing, for so many hours that gained rows; no source."""
UNPICKED_LOST = {"pile": 1.0, "weft": 0.0}
"""Share of the yarn of unpicked rows that is proposed as lost: cut knots are too short to be tied again, a weft comes out
in one piece (common practice, no source); who unpicks says what it was."""
HOURS_BALL_FIXED = Default(5.0 / 60.0, "h", NO_SOURCE)
"""Part of winding a ball that does not grow with it: skein on the swift, ends found and tied off."""
HOURS_BALL_PER_100_G = Default(7.5 / 60.0, "h", NO_SOURCE)
"""The winding itself: a usual ball takes 20 minutes in all."""
HOURS_SHUTTLE_FIXED = Default(10.0 / 60.0, "h", NO_SOURCE)
HOURS_SHUTTLE_PER_100_G = Default(20.0 / 60.0, "h", NO_SOURCE)
"""Making a weft shuttle by hand: half an hour for a usual one."""
HOURS_PER_100_WARPS = Default(1.5, "h", NO_SOURCE)
"""Measuring, mounting and tensioning the warp."""
HOURS_WARP_FIXED = Default(2.0, "h", NO_SOURCE)
"""Part of mounting a warp that does not grow with its number of threads: heddles, shed stick, first ties."""
OWN_TIMES_NEEDED = Default(2, "records", "our choice: two of the weaver's own times replace the default")

# --- a first rug, before anything is said of it ---------------------------------------------------------------

FIRST_WIDTH_CM = Default(80.0, "cm", NO_SOURCE)
FIRST_LENGTH_CM = Default(120.0, "cm", NO_SOURCE)
FIRST_PER_10CM = Default(40.0, "per 10 cm", NO_SOURCE)
FIRST_PILE_MM = Default(8.0, "mm", NO_SOURCE)
FIRST_HOURS_PER_WEEK = Default(20.0, "h", NO_SOURCE)

# --- yarn as bought and wound ---------------------------------------------------------------------------------

BALL_G = Default(200.0, "g", NO_SOURCE)
SHUTTLE_G = Default(100.0, "g", NO_SOURCE)
MARGIN = Default(0.10, "share", NO_SOURCE)
LEAST_RESERVE = Default(
    0.03,
    "share",
    "a lot may weigh so much less than it says, about two of its standard deviations; " + NO_SOURCE,
)
LEAD_DAYS = Default(14, "days", NO_SOURCE)
BALL_PACKING = Default(
    0.55,
    "share",
    "share of a hand-wound ball that is fibre-filled yarn; no source, a 200 g wool ball then measures 75 to 90 mm",
)
WARP_BALL_G = Default(500.0, "g", NO_SOURCE)
SCALE_STEP_G = Default(5.0, "g", "a kitchen scale that weighs kilograms shows steps of 1 to 5 g; no source")
SAMPLE_SCALE_STEP_G = Default(1.0, "g", "a sample is weighed on the finest scale at hand; no source")
BREAK_MINUTES = Default(
    45, "min", "a pause before an hour of sitting is over; no source, see a doctor where it hurts"
)

# --- fibres -----------------------------------------------------------------------------------------------------

FIBRE_DENSITY_G_CM3: dict[str, Default] = {
    "wool": Default(1.31, "g/cm³", MEMORY + " (Morton and Hearle, Physical Properties of Textile Fibres)"),
    "cotton": Default(1.52, "g/cm³", MEMORY + " (Morton and Hearle)"),
    "silk": Default(1.34, "g/cm³", MEMORY + " (Morton and Hearle)"),
    "linen": Default(1.50, "g/cm³", MEMORY + " (Morton and Hearle)"),
    "hemp": Default(1.48, "g/cm³", MEMORY),
    "jute": Default(1.44, "g/cm³", MEMORY),
    "nettle": Default(1.50, "g/cm³", "taken like linen, no source"),
    "goat hair": Default(1.31, "g/cm³", "taken like wool, no source"),
    "viscose": Default(1.52, "g/cm³", MEMORY + " (Morton and Hearle)"),
}
OTHER_FIBRE = "wool"
"""Fibre whose values serve when one is not listed."""

PACKING_TWISTED = Default(
    0.60,
    "share",
    "share of a twisted yarn's round section that is fibre: Peirce's 1.1 cm³/g for cotton is 1 / (1.1 × 1.52) = 0.60 "
    "(F. T. Peirce, J. Text. Inst. 28 (1937) T45)",
)
"""Warp and weft."""
PACKING_PILE = Default(
    0.50, "share", mark("soft-spun pile yarn is bulkier than warp; common practice, no source")
)

# --- the knot -----------------------------------------------------------------------------------------------------

KNIFE_MM_PER_KNOT = Default(
    3.0,
    "mm",
    mark(
        "the knife leaves the two ends that much longer together than the shears will; common practice, no source"
    ),
)
SHEARS_MM_PER_LEG = Default(
    1.5, "mm", "sheared off each of the two legs when the pile is levelled; " + NO_SOURCE
)
PILE_FILL = Default(
    0.24,
    "share",
    "share of a knot's cell (width × row height) that its two pile legs fill when no fineness is given; "
    "no source, read off common qualities",
)
WARP_OF_RAJ: tuple[tuple[float, float, int], ...] = (
    (25.0, 20.0, 18),
    (30.0, 20.0, 16),
    (40.0, 20.0, 12),
    (50.0, 20.0, 6),
)
"""(raj, Ne of the single, plies) of the cotton warp by density (iran-carpet.com no. 1804). Between two densities, and
beyond the first and the last, the warp fills its place as it does there."""
GROUND_WEFT_OVER_WARP = Default(
    2.0, "share", "tex of the thick weft over the warp's, about (iran-carpet.com no. 1631)"
)
WEFT_FILL_SINUOUS = Default(
    0.25, "share", "fine weft diameter over row height when no fineness is given; " + NO_SOURCE
)

# --- the foundation -----------------------------------------------------------------------------------------------

GROUND_WEFT_TAKE_UP = Default(
    0.15,
    "share",
    mark(
        "the thick weft is laid in with 120 cm for each pass across a rug 104 cm wide (iran-carpet.com no. 1819)"
    ),
)
SINUOUS_WEFT_WAVE = Default(
    0.5,
    "share",
    "the fine weft and the warps share the wave evenly, as in Peirce's square cloth; jammed it takes up 20.9 % "
    "(F. T. Peirce, J. Text. Inst. 28 (1937) T45)",
)
WARP_TAKE_UP = Default(
    0.03,
    "share",
    mark("taut warps wave little; woven-in length over cloth length less one; common practice, no source"),
)
END_ROWS_PER_WEFT_DIAMETER = Default(
    1.15,
    "diameters",
    "spacing of picks in a beaten weft-faced end, in diameters of the ground weft; " + NO_SOURCE,
)
END_TAKE_UP = Default(0.15, "share", "picks of a weft-faced end arch over their warps; " + NO_SOURCE)
SELVEDGE_WARPS = Default(8, "warps", NO_SOURCE)
END_CM = Default(2.0, "cm", NO_SOURCE)
FRINGE_CM = Default(10.0, "cm", NO_SOURCE)
LOOM_WASTE_CM = Default(
    40.0,
    "cm",
    "with both fringes 60 cm of warp beyond the rug, the most that is published (iran-carpet.com no. 1726)",
)
LOOM_SIDE_ROOM_CM = Default(
    10.0,
    "cm",
    mark("room for hands between the cloth and the loom's sides, both together; common practice, no source"),
)
WARP_GAP_CM = Default(
    10.0,
    "cm",
    mark(
        "warp left between two rugs on one warp, beside their fringes: room to cut them apart and to begin straight again; "
        "common practice, no source"
    ),
)
WARP_SIDE_GAP_CM = Default(
    5.0, "cm", mark("room between two rugs side by side on one loom; common practice, no source")
)

# --- the edges ------------------------------------------------------------------------------------------------------

CORDS_EACH_SIDE = Default(2, "cords", NO_SOURCE)
CORD_WARPS = Default(
    4.0, "warps", "a side cord of no known fineness is as heavy as so many warps; " + NO_SOURCE
)
FRINGE_TUFTS_PER_CM = Default(2.0, "per cm", NO_SOURCE)
FRINGE_STRANDS = Default(2, "strands", NO_SOURCE)
FRINGE_FOLDS = Default(
    2.0,
    "fringes",
    mark(
        "the threads of an added fringe are cut about twice as long as the fringe and doubled in half "
        "(G. Christie, Embroidery and Tapestry Weaving, 1906)"
    ),
)
FRINGE_KNOT_CM = Default(
    3.0, "cm", mark("the knot of a doubled strand takes that much of it; common practice, no source")
)
OVERCAST_SIDE_BY_SIDE = Default(
    1.0, "diameters", mark("the turns lie side by side, so that no warp shows; common practice, no source")
)

# --- from the loom to the floor -----------------------------------------------------------------------------------

USUAL_WASH_SHRINKAGE = Default(
    0.02,
    "share",
    mark(
        "about 2 % at washing, up to 5 or 10 % (haddadsrug.com; allaces.com.au); none is assumed until you say it, "
        "for 2 % stays within the tolerance of the sides"
    ),
)
TOLERANCE_CM = (3.0, 8.0)
"""Least and most by which a side may differ from what was ordered, by size (TS 43, from eracarpets.com)."""
TOLERANCE_WHOLE_FROM_CM = 40.0
"""The published least is allowed from this side on; of a smaller one, which the standard hardly means, the same share of it: our
own choice, no source."""
TOLERANCE_SHARE = Default(
    0.025,
    "share",
    "of the side, between that least and most: which sizes have which tolerance could not be read, so this is our choice",
)

# --- how sure the sums are: relative standard deviations of the need ----------------------------------------------

SD_GEOMETRY = (0.18, 0.07)
"""Pile use reckoned from geometry differs by tens of percent; no source. Here and below the first number is what all
yarns have in common (the hand, the beat, the shears), the second what is a yarn's own."""
SD_CUT_LENGTH = (0.18, 0.07)
"""Hand-cut lengths and the yarn's fineness vary, and what is dropped or cut again goes the same way; no source."""
SD_G_PER_M2 = (0.18, 0.07)
"""Mass in a square metre that was told, or learnt from an earlier rug: hands and shears differ as they do from the
geometry; no source."""
SD_SAMPLE = (0.02, 0.022)
"""Another hour's knots differ from the sample's; no source."""
SD_BORROWED_SAMPLE = (0.03, 0.052)
"""A colour reckoned through another colour's sample; no source."""
SD_WEFT_GEOMETRY = (0.10, 0.06)
SD_WEFT_MEASURED = (0.08, 0.05)
"""The same for wefts: reckoned from their wave, or with a measured take-up; no source."""
SD_WARP = Default(0.03, "share", "warp is counted and measured; its fineness varies; " + NO_SOURCE)
SD_EDGE = Default(0.12, "share", "how tight a hand winds and how long it cuts; " + NO_SOURCE)
SD_ASSUMED_TEX = Default(0.25, "share", "no fineness was entered, one was assumed; " + NO_SOURCE)
SD_SHARE = Default(0.10, "share", "a colour's share was estimated by eye instead of counted; " + NO_SOURCE)

# --- strays in scanned cartoons -------------------------------------------------------------------------------------

MERGE_DELTA_E = Default(
    6.0,
    "CIEDE2000",
    "rare shades nearer than this to a frequent one are taken for it; our choice, no source",
)
SAME_DELTA_E = Default(
    2.3,
    "CIEDE2000",
    "shades nearer than this are one colour to the eye, however frequent; the just noticeable difference often quoted "
    "for CIELAB, from memory",
)
STRAY_SHARE = Default(
    0.10,
    "share",
    "a shade with less than this share of its neighbour's knots counts as rare; our choice, no source",
)
NAME_DELTA_E = Default(
    12.0,
    "CIEDE2000",
    "a palette entry nearer than this to a yarn's swatch is offered as that yarn; our choice",
)

# --- setting up and lifting ---------------------------------------------------------------------------------------

MARK_STEP_CM = Default(10.0, "cm", NO_SOURCE)
"""Width of warp between two counting marks."""
MARK_STEP_INCHES = Default(4.0, "in", NO_SOURCE)
"""The same for who measures in inches: a round length on her tape, close to 10 cm."""
WET_MASS_AT_LEAST = Default(2.0, "times", "a soaked rug against the dry one, at least; " + NO_SOURCE)
LIFT_ALONE_AT_MOST_G = Default(
    23_000.0,
    "g",
    mark(
        "load constant of the revised lifting equation, for one person under the best conditions (T. R. Waters and "
        "others, DHHS (NIOSH) Publication No. 94-110, doi 10.26616/NIOSHPUB94110revised092021; the figure from memory)"
    ),
)
LIFT_LIGHT_G = Default(
    3_000.0,
    "g",
    "the least figure of the lifting filter of the Health and Safety Executive's INDG143, low and at arm's length; from memory",
)


# --- how surely a yarn lasts ------------------------------------------------------------------------------------

ENOUGH_FROM = Default(
    0.95, "chance", "our choice: a yarn is called enough when it lasts at least this surely"
)
ORDER_CHANCE = Default(0.98, "chance", "our choice: so much is bought that the yarn lasts this surely")
TEN_PERCENT_POINT = 1.2815515655446004
"""Standard deviations from the middle of a normal spread to its 10 % and 90 % points."""


# --- dye lots -----------------------------------------------------------------------------------------------

LOT_LINE_CM = Default(5.0, "cm", NO_SOURCE)
"""A line between two lots of one colour is seen from this length on; shorter, broken ones are not."""
LOT_ROWS_AROUND = Default(3, "rows", NO_SOURCE)
LOT_AROUND_WEIGHT = Default(0.5, "knots", NO_SOURCE)
"""A wide field of the colour around makes the eye compare: its mean knots in so many rows below and above count so much."""
LOT_BLEND_ROWS = Default(8, "rows", NO_SOURCE)
"""Rows over which two lots take turns where no row hides the change."""
LOT_PLACES_APART = Default(5, "rows", "our choice: rows closer together are the same place")
LOT_NEAR_ROWS = Default(
    12, "rows", "our choice: a planned change of lot is told at the loom from so many rows before"
)
