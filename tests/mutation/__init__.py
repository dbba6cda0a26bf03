"""How many small faults in the mechanics the tests notice: ``python -m tests.mutation``; record.md holds the last count."""

from __future__ import annotations

import os

# before numpy is imported: a fork would inherit locks of its threads
for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"
