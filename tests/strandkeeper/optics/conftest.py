"""No test is timed: a busy machine must not turn a property into a failure."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
