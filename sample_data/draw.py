"""Draws the sample property anew: ``python sample_data/draw.py``. Same command, same bytes.

It rewrites ``sample_data/property`` and ``sample_data/truth`` whole; nothing in them is edited by
hand. The scenario stands in ``drawing/herd.py``, ``drawing/ground.py`` and ``drawing/mishaps.py``.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import numpy as np
from drawing.cards import put_on_cards, write_cards
from drawing.company import with_company
from drawing.herd import BUCKS
from drawing.hunts import planned_sits, scared
from drawing.movement import buck_events
from drawing.photos import all_photos
from drawing.sheets import tag_rows, write_sheets
from drawing.sky import farm_sun, farm_weather
from drawing.tables import write_tables
from drawing.truth import write_truth

HERE = Path(__file__).resolve().parent
SEED = 20261122


def draw(folder: Path) -> None:
    """Writes ``property/`` and ``truth/`` into a folder, in place of any that stand there."""
    sun = farm_sun()
    weather = farm_weather(np.random.default_rng([SEED, 1]))
    sits = planned_sits(np.random.default_rng([SEED, 2]), weather)
    events = [
        event
        for k, buck in enumerate(BUCKS)
        for event in buck_events(
            buck, np.random.default_rng([SEED, 3, k]), sun, weather, scared(sits)
        )
    ]
    events = with_company(events, np.random.default_rng([SEED, 4]))
    photos, spoiled = put_on_cards(all_photos(events, [SEED, 5], sun))
    rows = tag_rows(photos, spoiled, np.random.default_rng([SEED, 6]))

    for name in ("property", "truth"):
        if (folder / name).exists():
            shutil.rmtree(folder / name)
    property_folder = folder / "property"
    write_tables(property_folder, weather, sits, events, sun, np.random.default_rng([SEED, 7]))
    write_cards(property_folder / "cards", photos, spoiled, [SEED, 8])
    write_sheets(property_folder / "tags", rows)
    write_truth(folder / "truth", photos, rows, spoiled)


if __name__ == "__main__":
    draw(Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else HERE)
