"""The chances behind the words on the screen, and the ranges shown: the one place where they are decided, but for what the shopping list goes by too
(`domain/defaults.py`: `ENOUGH_FROM`, `ORDER_CHANCE`)."""

from __future__ import annotations

SHORT_BELOW = 0.20
"""A yarn is called short when the chance that it lasts is below this; from here to `defaults.ENOUGH_FROM` it is tight."""

JUST_ENOUGH_SHARE = 0.05
"""A tight yarn with more than this share of its need to spare is called probably enough, with less just enough (our choice)."""

LOT_LEFT_OVER = 0.15
"""A change of dye lot is proposed only where at most this share of the open lot would be left over, unless the other lots
last for the rest anyway (our choice)."""

BALLS_DOUBTED_FROM = 1.35
"""Balls or shuttles used up that hold so many times what the rows can have taken are asked about (our choice)."""

RANGE_LOW = 0.10
RANGE_HIGH = 0.90
"""Every range shown runs between these two quantiles: it holds eight times in ten."""

MOVED_SINCE_DAYS = 7
"""The pages say by how much the date moved within so many days."""
MOVED_FROM_DAYS = 1.0
"""A cause that moved the date by less than so many days is not named."""

SLOW_FROM = 0.12
"""The last sessions are called slow or fast when a row cost so much more or less (log) than usual."""

LATELY_SESSIONS = 5
"""Sessions of which "lately" is the middle."""

AHEAD_APART = 0.1
"""Rows ahead that cost so much more or less (log) than the last ones are explained."""

LENGTH_TOLERANCE = 0.015
"""A rug whose length ends within this share of the plan's is on measure."""

BEAT_CAN_CHANGE = 0.15
"""Share by which the beat can change the row density at most (common practice: a few rows in 10 cm)."""

LENGTH_SURE = 0.80
"""The length is warned about when it leaves the tolerance with at least this chance."""

SHAPE_SURE_SDS = 2.0
"""A width, a side ahead or a lean is called off only beyond so many standard deviations of what was measured."""

SHORTEST_HOURS_H = 0.05
"""Less than three minutes are no hours given, h."""

LONGEST_DAY_H = 24.0
"""Hours of a day."""

LONGEST_RECORD_DAYS = 20 * 365
"""Habits and absences are learnt from the last twenty years of a record; what comes before the first of them is not looked at."""

REGULAR_FROM = 0.6
"""Entries stand for several days only where this share of their distances is one number of days."""

TEAM_APART = 0.25
"""Weavers by which the team that the date counts on lies apart from the last session's, or the plan's, before it is said."""
SAY_SILENT_FROM_DAYS = 10
"""Nothing logged for so many days, known days off left out: it is said."""

SLOWEST_KNOTS_PER_HOUR = 40.0
FASTEST_KNOTS_PER_HOUR = 4000.0
"""Paces of one weaver below and beyond these are asked about: published ones run from 150 knots an hour
(byrdcallstudio.com, lesson 4) to 10,000 a day (Wikipedia, "Oriental rug"; about 1,250 an hour)."""

NO_DATE_AFTER_DAYS = 60
"""Nothing logged for so many days, known days off left out: no date is given until something is."""

HELD_OVER_DAYS = 30
"""An earlier rug's date is asked for so many days before its last row, to say how it held."""

EARLIER_RUGS = 3
"""Finished rugs from which pace and habit are borrowed: the last ones, since hands change."""

LEAST_TO_DOUBT = 5
"""Sessions with rows and hours before one of them is called out of line."""

FAR_TOO_FAST = 0.3
HARDLY_FEWER = 0.5
LONG_SESSION = 1.6
"""Hours are too few when they are below this share of what the rows usually take and of a usual session, though it gained at
least half of the usual rows; rows are too many beyond one over that share. A session is long beyond so many usual ones."""

LESSON_FROM_SHARE = 0.2
"""A weighing teaches the use of a yarn once this share of its knots or rows is woven; before, noise outweighs it."""

LESSON_FROM_BALLS = 2
"""Without a weighing, so many ended balls or shuttles teach the use, to about half a ball."""

LEAST_USE_RATIO = 0.5
MOST_USE_RATIO = 2.0
"""Beyond half or twice the plan something was not entered: such a use is shown, but not offered to another rug."""

VERY_UNLIKELY_BELOW, UNLIKELY_BELOW = 0.10, 0.33
LIKELY_ABOVE, VERY_LIKELY_ABOVE = 0.66, 0.90
"""Chances behind the words: very unlikely, unlikely, even chance (there "about as likely as not"), likely, very likely. From IPCC, Guidance Note for Lead
Authors of the Fifth Assessment Report on Consistent Treatment of Uncertainties (2010), table 1 (bounds from memory)."""

FARTHEST_DAYS = 30_000
"""Days ahead at which a reckoned day is cut off: 82 years (our own choice)."""
FAR_YEARS = 80
"""From so many years ahead on a reckoned day is told as later than a year, not as a day: it may have been cut off."""
