"""How often a property is tried: a few times in every run, many times in the long forms, with new examples."""

from __future__ import annotations

from typing import Any

from hypothesis import HealthCheck, settings

EVERY_RUN = "every run"
LONG_FORMS = "long forms"
LONG_TIMES = 50
"""So many times as many examples in the long forms as in every run."""

# A crowded machine is no failure.
settings.register_profile(
    EVERY_RUN,
    max_examples=40,
    derandomize=True,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile(LONG_FORMS)


def examples(every_run: int, **options: Any) -> settings:
    """Return the settings of a property tried on so many examples in every run.

    The profile must be loaded, as `tests/conftest.py` does before any test is read.
    """
    times = 1 if settings.default.derandomize else LONG_TIMES
    return settings(max_examples=every_run * times, deadline=None, **options)
