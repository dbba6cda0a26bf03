"""``python -m anchorsize``."""

from anchorsize.cli import main

if __name__ == "__main__":
    main()
