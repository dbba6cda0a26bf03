"""``python -m tests.mutation``."""

from __future__ import annotations

from tests.mutation.run import main

if __name__ == "__main__":
    main()
