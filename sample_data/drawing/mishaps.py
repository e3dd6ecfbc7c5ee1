"""The warts of real life, fixed by hand so that tests can name them."""

from __future__ import annotations

from datetime import datetime

import numpy as np

# Batteries gave out in the night after the check of 20 September 2026; nobody wrote it down.
DEAD = ("cam-02", np.datetime64("2026-09-21T09:00", "s"), np.datetime64("2026-10-11T15:00", "s"))

# Card full, and the hunter did write it down in outages.csv (27 November to 11 December 2025).
CARD_FULL = (
    "cam-08",
    np.datetime64("2025-11-27T06:00", "s"),
    np.datetime64("2025-12-12T06:00", "s"),
)
CARD_FULL_DAYS = ("2025-11-27", "2025-12-11")

# Everybody put the clocks back on 1 November 2026 but for this camera.
FAULT_CAMERA = "cam-06"
FAULT_FROM = np.datetime64("2026-11-01T07:00", "s")

# This clock ran fast through the second season, noticed and written in clock.csv.
DRIFT_CAMERA = "cam-03"
DRIFT_START = datetime.fromisoformat("2025-06-14 14:00")  # local, on a right clock
DRIFT_END = datetime.fromisoformat("2026-01-31 12:00")
DRIFT_MINUTES = 13

LAST_DUMP = "2026-11-22"
COPIED_CAMERA, COPY = "cam-02", "2026-11-22_again"
TRUNCATED_CAMERA, EMPTY_FILE_CAMERA, VIDEO_CAMERA = "cam-09", "cam-01", "cam-05"
NOT_TAGGED_YET = ("cam-07", "cam-08")
"""No row in the tag sheet for the last card."""
