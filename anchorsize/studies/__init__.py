"""Questions that ask the assessment many times over: every point of a curve, candidate or sample is one row of a batch."""
