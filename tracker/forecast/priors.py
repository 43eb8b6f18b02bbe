"""What is believed before there is evidence: every starting value and spread of the forecasts, in one place.

Where no source is named the value is common sense about hand work, no source; none was fitted to the rugs
on which the back-test is scored.
"""

from __future__ import annotations

from tracker.domain import defaults

# Pace ------------------------------------------------------------------------------------------------
RATE_SD_EARLIER = 0.13
LEARN_SD_EARLIER = 0.12
LEARN_HOURS_EARLIER = 30.0
"""Spread (log) from one rug of a weaver to the next: of the rate, of the learning excess; and the hours in which an
earlier rug's excess is taken to have fallen to 37 %."""
CHANGE_KNOTS = defaults.CHANGE_KNOTS
CHANGE_KNOTS_WEIGHT = defaults.CHANGE_KNOTS_CHANCE
LEARN_HOURS = defaults.LEARN_HOURS
LEARN_HOURS_WEIGHT = defaults.LEARN_HOURS_CHANCE
LEARN_HOURS_PART = defaults.LEARN_HOURS_PART
TEAM_POWER = float(defaults.TEAM_POWER)
TEAM_POWER_SD = 0.1
"""What a row is believed to cost stands in `domain.defaults`, where the plan reads it too; here is how sure a team's power
is: its spread (log)."""
DRIFT_SDS = (0.03, 0.08)
DRIFT_DAYS = 45.0
"""Slow drift of the pace: its spread (log) and the days over which it is remembered."""
SESSION_SD = 0.18
SESSION_STRENGTH = 6.0
"""Spread (log) of single sessions about the pace, worth so many sessions of evidence."""
MISSING_HOURS_SD = 0.30
"""Extra spread (log) of a session whose hours were not given, when others were."""
BELIEVABLE_SDS = 1.5
"""Where no session has hours, rows of a day beyond so many spreads of what was believed count the less the farther they are,
until more such days come."""
UNTOLD_OVER_USUAL = 2.0
"""A session without hours lasted at most so many times as long as usual, however many rows it gained."""
UNPICK_HOURS = defaults.UNPICK_HOURS
"""Hours lost to sessions that gained nothing, per hours woven: prior (lost, woven)."""

LOST_AT_ONCE = 2.0
"""Usual sessions that one unpicking counts for at most, in what the rows to come are expected to lose likewise."""

UNPICKED_UNTOLD = defaults.UNPICK_HOURS[0] / defaults.UNPICK_HOURS[1]
"""Share of the rows that comes out again within the session in which they were tied, so that nobody enters it: as much as of the hours.
It is in the use that is learnt; a usual session comes out at once, so that one part of a rug has more of it than another."""

UNPICK_ROWS = 60.0
"""Rows gained without any unpicked that the plan is worth, before the record says what share is; their yarn is lost."""
TEAM_DAYS = 28
"""A team keeps its size for about so many days."""
TEAM_MONTH_SESSIONS = 4.0
"""Sessions of the whole record's team that each month of it is worth beside its own."""
TEAM_GOES_ON, TEAM_GOES_ON_SESSIONS = 0.95, 5.0
"""How far one session's team is believed to go on in the next (1: wholly, 0: no more than by chance), and the sessions of evidence that
the belief is worth."""

# Calendar --------------------------------------------------------------------------------------------
LEAST_PLANNED_H = 0.25
"""A plan of fewer hours a week is read as so many, h."""
LONGEST_PLANNED_H = 12.0
"""A plan of more hours a day is read as so many, h."""
DAY_UNTOLD_H = 4.0
"""Where no session has hours, every day woven on is reckoned as so many, h, whatever the plan says: practice and the longest
day are then the same for every plan, and more planned hours can only mean more rows a day."""
OWN_HOURS_FROM = 5
"""Sessions with hours that make a habit; before, the plan's hours have their say where hours were left out."""
SLOW_BOOK = 0.12
"""Chance that one entry stands for several days."""
ENTRY_DAYS = ((3, 0.12), (4, 0.12), (5, 0.12), (6, 0.1), (7, 0.39))
"""Days after which such a book is written, each with its chance."""
ENTRY_OFF_ITS_DAY = 0.015
"""Chance of a distance that is no whole number of those days."""
ENTRY_PRESENCE_STRENGTH = 4.0
ENTRY_ABSENCE = 0.02
"""Else planned days between two entries were missed one by one (chance `PRESENCE`, worth so many days), or were an absence."""
ENTRY_HOURS_SDS = (0.6, 0.45)
ENTRY_ROWS_SDS = (1.5, 0.5)
ENTRY_FAR = 1.6
ENTRY_ROW_OVER_PLAIN = 0.25
"""Spreads (log) of an entry's hours over `DAY_UNTOLD_H` for each of its days, of its rows over those of the usual pace: what all entries have in
common, each one's own; how far off an entry counts at most; what a row takes over a plain, learnt one."""
ONE_DAY_OVER_USUAL = 1.4
"""In such a book an entry of no more than so many usual days' hours stands for one day."""
PRESENCE = 0.80
PRESENCE_STRENGTH = 6.0
"""Chance that a weaving day is woven on, and the days of evidence it is worth."""
PRESENCE_UNPLANNED = 0.10
"""Chance that a day outside the planned week is woven on, before the weeks around have shown it."""
WEEKDAY_STRENGTH = 14.0
"""A weekday's own chance lies about the common one as if by so many days."""
SELDOM = (0.5, 16.0)
"""Beta law of the chance of a weekday that is hardly ever woven on."""
WEAVING_DAY_PLANNED = 0.93
WEAVING_DAY_UNPLANNED = 0.2
WEAVING_DAY_UNTOLD = 0.6
"""Chance that a weekday is in truth a weaving day: when the plan names it, when it does not, and not knowing the plan. The second was
chosen on tuning rugs of seven worlds of the back-test, each with the plan told and with two days too few, for the worst of them."""
OLD_HABIT_SHARE = 0.3
OLD_HABIT_DAYS = 1.0
"""After a change of habit so much of each weekday's record before still counts: a share, at most so many days."""
RETURNS_BY = 0.5
RETURNS_DAYS = 60.0
RETURNS_TO = 0.68
RETURNS_FROM = (0.25, 0.55)
"""How often she comes goes back by so much of its distance (in normal scores) to a usual chance, to 63 % of that in so many days; a weekday
woven on less often than the first of the two chances stays as it is, from the second on the whole of it holds. Chosen on the tuning
rugs of all seven worlds of the back-test."""
AROUND_WEEKS = 5.0
AROUND_STRENGTH = 1.5
"""Weeks over which the habit around a gap is taken (to 37 %), and the days the plan is worth in it."""
HOURS_PLAN_SHIFT = 0.05
HOURS_PLAN_SD = 0.30
"""Mean and spread (log) of the real hours of a day woven on over the plan's hours a planned day. Some weavers mean
every planned day by their hours a week, some what comes of it when days are missed: the mean lies between."""
HOURS_SD = 0.30
HOURS_STRENGTH = 6.0
"""Spread (log) of the hours of single days, worth so many days of evidence."""
WEEKDAY_HOURS_STRENGTH = 8.0
"""A weekday's own hours are shrunk to the common ones as if by so many days."""
HOURS_SHAPE_STRENGTH = 10.0
HOURS_SHAPE_MOST = 2.0
"""The mean of a day's hours over their middle is learnt from the record, the belief of an even spread (log) being worth so many
days: half days lost to a power cut pull it below, long evenings now and then above. No day counts for more than so many middles."""
LEAST_DAY_H = 0.05
"""Least hours of a day woven on, h."""
LONGEST_SESSION_H = 16.0
"""Nobody sits at the loom longer in a day, h."""
ODD_EVENING_REACH = 1.5
"""A single day out of all habit counts as if it were off by at most so many standard deviations."""
WEEK_SD = 0.08
"""Weeks differ (log) beyond their days."""
FIRST_LEVEL_SD = 0.6
"""Spread (log) of the hours about the record's own middle, for weighing since when a level has held."""
HABIT_CHANGE_DAYS = 300.0
"""A lasting change of habit comes once in so many days."""
HABIT_CHANGE_SD = 0.35
"""Spread (log) of the hours after a change about those before."""
HABIT_CHANGE_RANGE = (0.6, 1.5)
"""A change to come changes the hours a day by a factor in this range, every ratio alike."""
PLAN_AFTER_CHANGE = 0.05
"""After a change of habit the plan still counts for so much of what it counted for at first."""
SEASON_SD = 0.14
SEASON_DAYS = 60.0
"""Slow ups and downs of the hours a day: spread (log), and the days over which they are remembered."""
SHORT_ABSENCE_EVERY_DAYS = 80.0
SHORT_ABSENCE_STRENGTH = 2.0
SHORTEST_ABSENCE_DAYS = 2
"""One day without weaving is a session missed, no absence."""
SHORT_ABSENCE_LENGTHS = (0.3, 0.27, 0.2, 0.13, 0.1)
"""Short absences: one in so many days for a weaver alone, worth so many absences; chances of 2, 3, 4, 5 and 6 days."""
LONG_ABSENCE_EVERY_DAYS = 260.0
LONG_ABSENCE_STRENGTH = 1.5
LONG_ABSENCE_EXCESS_DAYS = 8.0
LONG_ABSENCE_EXCESS_STRENGTH = 2.0
LONG_ABSENCE_EXCESS_SD = 0.3
LONG_ABSENCE_TAIL = 3.0
"""Long absences: one in so many days, worth so many; mean days beyond six, worth so many absences; how well the mean is
known (log); shape of the Lomax law of their length."""
ABSENCE_TEAM_POWER = 0.7
"""A team of n is absent as a whole less often, by n to this power."""
SPELL_SPREADS = (0.0, 0.3, 0.6, 1.0)
SPELL_SPREADS_CHANCE = (0.55, 0.25, 0.14, 0.06)
SPELL_DAYS = 40.0
"""Weeks differ in how readily she comes: spreads (standard deviations of a day's own luck) between which the record chooses, the chance of
each beforehand, and the days over which a standing is remembered (to 37 %)."""
FOLLOWS_SD = 0.1
FOLLOWS_KEEP = 0.6
"""A day woven on makes the next one likelier: spread of the correlation of a day with the next beforehand (about nothing, never
below), and what is left of it from day to day."""
EARLIER_WEEKS = 3.0
"""An earlier rug's weekdays count for so many weeks of record."""
EARLIER_LEAST_SESSIONS = 8
"""Fewer sessions teach nothing about a weaver's days."""
EARLIER_HOURS_SD = 0.17
EARLIER_HOURS_NEW_SD = 0.15
"""Spread (log) of a rug's hours a day over the plan's about the weaver's own ratio, and of the new rug's about what was learnt."""

# Yarn ------------------------------------------------------------------------------------------------
MIRRORED_SD = 0.3
LOPSIDED_SD = 0.1
"""Without a cartoon: how far the knots of a colour stray from its share (`strays.py`), as a share of its knots: over half a rug that is woven
alike from both ends, and over a whole one that is not. Chosen on tuning rugs, some with shares misjudged or ends unlike."""
LOT_SD = 0.015
"""Spread of what a lot weighs about what it says."""
DAMP_SD = 0.02
"""Spread of a weighing by the damp of the day: wool takes up some percent more water in humid air."""
SCALE_SD_G = 1.0
BALL_SD = 0.06
BALL_COMMON_SD = 0.035
PART_BALL_SD = 0.5
"""Spread of a wound ball or shuttle about its nominal mass: each, all of a yarn together, and of one that was less than a full one,
of which nobody said how much was on it."""
FIRST_BALL = 0.95
FIRST_BALL_SD = 0.03
"""Share of a whole one that the first ball or shuttle of each hand is when the rug begins, and its spread: trial knots and the
heading come from it."""
SPOILT_SD = 0.15
"""Spread of what was spoilt about what was written down."""
BALL_NOT_NOTED = 0.02
"""Chance that an ended ball or shuttle was not noted."""
ODD_WEIGHING_SDS = 1.75
"""A weighing that lies more standard deviations off what was expected tells of something nobody entered rather than of the use, the
more the farther it lies off."""
ODD_BALL_SDS = 3.0
"""A ball that lies more standard deviations off what was expected says the less of the use the farther it lies off."""
OPEN_BALL_SD = 0.08
"""Spread of a ball's mass, as a share, in whether the balls under way should have ended by now."""
ODD_RECORD = 0.05
"""Chance that a record about a ball does not mean what it says at all: a second one opened, a small one wound."""

# Cloth -----------------------------------------------------------------------------------------------
PITCH_SD = 0.05
"""Spread (log) of the real row height about the planned one."""
PITCH_DRIFT_SD = 0.010
"""Drift (log) of the row height in a hundred rows."""
MEASURE_SD_CM = 0.25
MEASURE_SD_SHARE = 0.004
"""Spread of a length measured on the loom, beside the tape's resolution: in cm, and as a share of the length."""
TAPE_SD_CM = 0.1
TAPE_SD_SHARE = 0.001
"""Spread of a width, side or diagonal read off the cloth, beside the tape's resolution: what the hand errs by at its two ends, in cm, and what sag and
pull add, as a share of the length (common practice, no source). Tape and rule themselves may err by far less: Directive 2014/32/EU, annex X."""
WIDTH_START_SD = 0.01
"""Spread of the width at the first row, as a share of the planned one (our own choice)."""
WIDTH_SLOPE_SD = 0.03
"""Spread of what the width draws in or gains from the first row to the last, as a share of it (our own choice)."""
SIDES_SLOPE_SD = 0.02
"""Spread, as a share of the length, of how far one side is ahead, or the cloth leans, at the last row (our own choice)."""
SIDES_LEAST_SD_CM = 1.0
"""The least that spread is, in cm: a short cloth is beaten no more evenly than a long one (our own choice)."""
