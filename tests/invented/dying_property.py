"""What stands for the work on one property where that work ends its process."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path


def dies_of_it(folder: Path, today: date) -> dict[str, object]:
    """A row, but for a folder named ``deadly``."""
    if folder.name == "deadly":
        os._exit(9)
    return {"folder": str(folder), "to_mend": 0}
