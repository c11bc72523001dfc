"""What holds for every test: one thread each, and where BATCHWRIGHT_SKIP_IS_FAILURE=1 is set, a skip is a failure."""

from __future__ import annotations

import os
from collections.abc import Generator
from typing import Any

import pytest

# Two test processes share two cores; set before any test module brings in numpy.
for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

SKIP_IS_FAILURE = os.environ.get("BATCHWRIGHT_SKIP_IS_FAILURE") == "1"


def fail_if_skipped(report: pytest.TestReport | pytest.CollectReport) -> None:
    """Turn a skip into a failure that says why it was skipped; an expected failure stays one."""
    if SKIP_IS_FAILURE and report.skipped and not hasattr(report, "wasxfail"):
        why = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
        report.outcome = "failed"
        report.longrepr = f"{why}\nBATCHWRIGHT_SKIP_IS_FAILURE=1: here a skip is a failure."


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Look at each test's report."""
    report = yield
    fail_if_skipped(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """Look at each module's report, where a whole module may be skipped."""
    report: Any = yield
    fail_if_skipped(report)
    return report


@pytest.fixture(autouse=True)
def one_terminal_width(monkeypatch: pytest.MonkeyPatch) -> None:
    """Give every test a terminal of 100 columns, whatever the one it is run from or a test before it says."""
    monkeypatch.setenv("COLUMNS", "100")
