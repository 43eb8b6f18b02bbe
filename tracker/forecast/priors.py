"""What is believed before there is evidence: every starting value and spread of the forecasts, in one place.

Where no source is named the value is common sense about hand work, no source; none was fitted to the rugs
on which the back-test is scored.
"""

from __future__ import annotations

from tracker.domain import defaults

# Pace ------------------------------------------------------------------------------------------------
RATE_SD_PLAN = 0.23
"""Spread (log) of the true rate about the rate the plan names."""
RATE_SD_DEFAULT = 0.40
"""Spread (log) of the true rate about the default of `domain.defaults`."""
RATE_SD_EARLIER = 0.13
"""Spread (log) from one rug of a weaver to the next."""
CHANGE_KNOTS = (0.3, 0.7, 1.3, 2.4)
CHANGE_KNOTS_WEIGHT = (0.2, 0.35, 0.3, 0.15)
"""A colour change costs the time of so many plain knots, with these odds."""
LEARN_MEAN = 0.25
LEARN_SD = 0.17
"""Excess (log) of the first hour's cost over the learnt cost."""
LEARN_HOURS = (10.0, 25.0, 60.0)
"""Hours at the loom in which that excess falls to 37 %, equally likely."""
TEAM_POWER = 0.9
TEAM_POWER_SD = 0.1
"""A team of n does the work of n to this power."""
DRIFT_SDS = (0.03, 0.08)
DRIFT_DAYS = 45.0
"""Slow drift of the pace: its spread (log) and the days over which it is remembered."""
EVENING_SD = 0.18
EVENING_STRENGTH = 6.0
"""Spread (log) of single sessions about the pace, worth so many sessions of evidence."""
MISSING_HOURS_SD = 0.30
"""Extra spread (log) of a session whose hours were not given, when others were."""
UNPICK_HOURS = (0.6, 30.0)
"""Hours lost to sessions that gained nothing, per hours woven: prior (lost, woven)."""

# Calendar --------------------------------------------------------------------------------------------
PRESENCE_PLANNED = 0.83
PRESENCE_STRENGTH = 14.0
"""Chance that a planned weaving day is woven on, worth so many days of evidence."""
PRESENCE_OTHER = 0.04
PRESENCE_OTHER_STRENGTH = 6.0
"""The same for days outside the planned week."""
WEEKDAY_STRENGTH = 10.0
"""A weekday's own habit is shrunk to the common one as if by so many days."""
HOURS_PLAN_SD = 0.25
"""Spread (log) of the real hours a day about the plan's."""
HOURS_SD = 0.30
HOURS_STRENGTH = 6.0
"""Spread (log) of the hours of single days, worth so many days of evidence."""
ODD_EVENING = 0.08
ODD_EVENING_SD = 0.6
"""Chance that the hours of an evening are out of all habit (a visit, a long night), and their spread (log) then."""
HABIT_CHANGE_DAYS = 450.0
HABIT_CHANGE_RANGE = (0.5, 1.35)
"""A lasting change of habit comes once in so many days; the hours a day then change by a factor between half and
a third more, every ratio alike: half days are commoner than doubled ones."""
ABSENCE_EVERY_DAYS = 80.0
ABSENCE_EVERY_STRENGTH = 2.0
ABSENCE_DAYS = 9.0
ABSENCE_STRENGTH = 3.0
"""Absences nobody knew of: one in so many days for a weaver alone (times the root of the number of weavers: the
others go on), lasting so many days on average, each worth so many absences."""

# Yarn ------------------------------------------------------------------------------------------------
USE_COMMON_SD = float(defaults.SD_GEOMETRY)
"""Spread (log) of what all colours have in common: the hand and the shears."""
USE_COLOUR_SD = 0.07
"""Spread (log) of one colour about the others."""
USE_ASSUMED_SD = 0.25
"""Added when no fineness was entered and one had to be assumed."""
SHARE_SD = 0.10
SHARE_NOW_SD = 0.40
"""Without a cartoon: spread (log) of a colour's real share of the whole rug, and of the part woven so far."""
WEFT_COMMON_SD = float(defaults.SD_WEFT_GEOMETRY)
WEFT_OWN_SD = 0.06
"""The same for wefts."""
LOT_SD = 0.015
"""Spread of what a lot weighs about what it says."""
DAMP_SD = 0.02
"""Spread of a weighing by the damp of the day: wool takes up some percent more water in humid air."""
SCALE_SD_G = 1.0
BALL_SD = 0.06
BALL_COMMON_SD = 0.035
"""Spread of a wound ball or shuttle about its nominal mass: each, and all of a yarn together."""
SPOILT_SD = 0.15
"""Spread of what was spoilt about what was written down."""
BALL_NOT_NOTED = 0.02
"""Chance that an ended ball or shuttle was not noted."""
ODD_RECORD = 0.05
"""Chance that a record about a ball does not mean what it says at all: a second one opened, a small one wound."""

# Cloth -----------------------------------------------------------------------------------------------
PITCH_SD = 0.05
"""Spread (log) of the real row height about the planned one."""
PITCH_DRIFT_SD = 0.010
"""Drift (log) of the row height in a hundred rows."""
MEASURE_SD_CM = 0.25
"""Spread of a length measured on the loom, beside the tape's resolution."""
