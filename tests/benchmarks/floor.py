"""Floors that are processes: the least a script could do that shows the same.

    python -m benchmarks.floor CHARTS FOLDER

reads the photo lists and tag sheets of a property with pandas, and draws so many charts of the
tagged visits with matplotlib, each to SVG: a season of a buck, day against hour.
"""

from __future__ import annotations

import io
import sys
from itertools import cycle, islice
from pathlib import Path

import pandas as pd
from matplotlib.figure import Figure

IMPORTS = "import pandas, matplotlib.figure, scipy.special"
"""What a report cannot do without, for ``python -c``."""
PANDAS = "import pandas"


def read_visits(folder: Path) -> pd.DataFrame:
    """Every tagged visit, one row a buck: ``buck, season, day, hour``."""
    photos = [
        pd.read_csv(path, parse_dates=["taken"]) for path in (folder / "cards").glob("*/*.csv")
    ]
    assert sum(map(len, photos)) > 0
    sheets = [pd.read_csv(path, parse_dates=["taken"]) for path in (folder / "tags").glob("*.csv")]
    tags = pd.concat(sheets, ignore_index=True).dropna(subset="bucks")
    tags["buck"] = tags["bucks"].str.split(";")
    tags = tags.explode("buck")
    tags["buck"] = tags["buck"].str.strip().str.rstrip("?")
    tags = tags[tags["buck"] != "-"]
    taken = tags["taken"]
    return tags.assign(
        season=taken.dt.year - (taken.dt.month < 6),
        day=taken.dt.dayofyear,
        hour=taken.dt.hour + taken.dt.minute / 60,
    )


def draw_charts(visits: pd.DataFrame, count: int) -> int:
    """Draw so many charts, and begin again with the first buck where there are too few; gives
    their letters in all."""
    letters = 0
    seasons = [of_one for _, of_one in visits.groupby(["buck", "season"])]
    for of_one in islice(cycle(seasons), count):
        figure = Figure(figsize=(4.7, 4.2))
        axes = figure.add_subplot()
        axes.scatter(of_one["day"], of_one["hour"], s=12)
        drawn = io.StringIO()
        figure.savefig(drawn, format="svg")
        letters += len(drawn.getvalue())
    return letters


if __name__ == "__main__":
    print(draw_charts(read_visits(Path(sys.argv[2])), int(sys.argv[1])))
