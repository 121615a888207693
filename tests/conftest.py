"""Settings for all tests: Hypothesis profiles, and what CI must not skip."""

import os

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile("dev", max_examples=40, deadline=None)
settings.register_profile(
    "ci", max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("ci" if os.environ.get("CI") else "dev")


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_makereport(item, call):
    """With FLEET_REQUIRE_BROWSER set, a skipped browser test is a failed one."""
    outcome = yield
    report = outcome.get_result()
    must_run = os.environ.get("FLEET_REQUIRE_BROWSER") and item.get_closest_marker("browser")
    if report.skipped and must_run and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"a browser test was skipped where it must run: {report.longrepr}"
