"""One profile for every random test: the same cases on every run and machine, and no clock."""

from __future__ import annotations

from hypothesis import HealthCheck, Phase, settings

settings.register_profile(
    "laws",
    derandomize=True,
    deadline=None,
    database=None,
    print_blob=True,
    phases=[Phase.explicit, Phase.generate, Phase.shrink],
    report_multiple_bugs=False,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)
settings.load_profile("laws")
