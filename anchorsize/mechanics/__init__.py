"""The physics: pure functions on numpy arrays, SI in and SI out, leading axes are batch axes.

Nothing here knows of files, units or reports, and nothing is imported but numpy. Frames and signs are those
of DEVELOPERS.md, "Frames and signs"; every function names its units in brackets and its source.
"""
