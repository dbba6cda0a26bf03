"""Hypothesis for this house: no deadlines (speed is measured in benchmarks), and the same examples in every CI run, a quarter as many."""

from __future__ import annotations

import gc
import os

import pytest
from hypothesis import settings

MOST_IN_CI = 25
"""Examples of a property in a CI run, also where its test asks for more; by hand all are tried."""
_SETTINGS = "_hypothesis_internal_use_settings"

settings.register_profile("house", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True, max_examples=MOST_IN_CI)
settings.load_profile("ci" if os.environ.get("CI") else "house")

# Millions of small arrays live for a moment, and looking through all that stays for each of them takes a tenth of the time.
gc.freeze()
gc.set_threshold(200_000, 50, 50)


def pytest_collection_modifyitems(items):
    """Cut the examples that a test asks for by itself, which no profile reaches."""
    for item in items if os.environ.get("CI") else ():
        function = getattr(item, "function", None)
        chosen = getattr(function, _SETTINGS, None)
        if chosen is not None and chosen.max_examples > MOST_IN_CI:
            setattr(function, _SETTINGS, settings(chosen, max_examples=MOST_IN_CI))


@pytest.fixture(scope="session")
def browser():
    """One browser for all page tests of a process: starting one takes a second."""
    from tests.browser import running_browser

    with running_browser() as started:
        yield started
