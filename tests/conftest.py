"""Hypothesis for this house: no deadlines (speed is measured in benchmarks), and the same examples in every CI run, half as many."""

from __future__ import annotations

import os

import pytest
from hypothesis import settings

settings.register_profile("house", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True, max_examples=50)
settings.load_profile("ci" if os.environ.get("CI") else "house")


@pytest.fixture(scope="session")
def browser():
    """One browser for all page tests of a process: starting one takes a second."""
    from tests.browser import running_browser

    with running_browser() as started:
        yield started
