"""Hypothesis for this house: no deadlines (speed is measured in benchmarks), and the same examples in every CI run, half as many."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("house", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True, max_examples=50)
settings.load_profile("ci" if os.environ.get("CI") else "house")
