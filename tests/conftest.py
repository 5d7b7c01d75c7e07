"""Settings for all tests."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

settings.register_profile(
    "ours", deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)
settings.register_profile("ci", parent=settings.get_profile("ours"), derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "ours")
