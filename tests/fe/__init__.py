"""Finite-element study of a bolted flange pair, kept as a record."""
