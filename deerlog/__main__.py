"""``python -m deerlog``."""

from deerlog.cli import main

if __name__ == "__main__":
    main()
