"""Worlds of simulated weavers for the back-test, each with machinery of its own; none imports the forecaster.

Ranges come from what the trade publishes about pace and output (300 to 1,200 knots an hour, 5,000 to 10,000 a day, 150 an
hour without a loom's shed; one to four weavers at a rug) or are marked as our guess. `common.py` holds what all share: a
rug woven day by day for many replicates at once, so that one code makes the true course and the futures of the forecaster
that knows all.
"""
