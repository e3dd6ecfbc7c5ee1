"""What several rows share: the temporary folder, the large properties, and runs done only once."""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

from benchmarks.large_property import Written, write_large_property
from benchmarks.one_process import Spent, run_deerlog
from benchmarks.sizes import Sizes
from benchmarks.whole_commands import time_commands

SEED = 7


@dataclass
class Workbench:
    """One run of the benchmarks.

    Attributes
    ----------
    folder
        All that is made lies in it.
    slow
        Whether works of minutes are measured too.
    """

    folder: Path
    sizes: Sizes
    slow: bool
    _large: dict[int, Written] = field(default_factory=dict)
    _all_commands: dict[str, Spent] = field(default_factory=dict)

    def large(self, seasons: int) -> Written:
        """The large property with so many seasons, not ingested by this."""
        if seasons not in self._large:
            self.tell(f"writing a property of {seasons} season(s)")
            self._large[seasons] = write_large_property(
                self.folder / f"large-{seasons}",
                seed=SEED,
                seasons=seasons,
                cameras=self.sizes.cameras,
                bucks=self.sizes.bucks,
                photos_a_season=self.sizes.photos_a_season,
                tagged_a_season=self.sizes.tagged_a_season,
            )
        return self._large[seasons]

    def ingested(self, seasons: int) -> Written:
        """The same, ingested."""
        written = self.large(seasons)
        if not (written.folder / "deerlog.sqlite").exists():
            run_deerlog(written.folder, "ingest")
        return written

    def all_commands(self) -> dict[str, Spent]:
        """What each command takes on the property of all seasons."""
        if not self._all_commands:
            self._all_commands = time_commands(
                self.large(self.sizes.seasons), self.sizes.few, slow=self.slow, tell=self.tell
            )
        return self._all_commands

    def tell(self, what: str) -> None:
        """Say on the standard error stream what is being done, so that nobody waits blindly."""
        print(f"{time.strftime('%H:%M:%S')} {what} ...", file=sys.stderr, flush=True)
