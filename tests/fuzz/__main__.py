"""``python -m tests.fuzz``."""

from __future__ import annotations

from tests.fuzz.run import main

if __name__ == "__main__":
    main()
