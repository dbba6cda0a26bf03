"""Attack on the readers: ``python -m tests.fuzz`` feeds them mutated and random files; record.md tells of the last long run."""
