"""How large the things are that are measured: the full size, and one that a test can run."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Sizes:
    """Sizes of one run.

    Attributes
    ----------
    photos, body_bytes
        JPEGs of the first ingest, and the bytes of picture in each, on average.
    lean_photos, lean_body_bytes
        The same, of the row with EXIF of nine tags.
    known
        Files on the cards of the second ingest.
    seasons, cameras, bucks, photos_a_season, tagged_a_season
        The large property; its growth is measured from one season to this many. Asked for are buck
        visits; a visit of two bucks at once is one tagged visit, so there are somewhat fewer.
    grown
        Commands whose growth is measured; None: all.
    twice
        The command that is run on two properties at once.
    sample
        Whether start-up is measured on the sample property; if not, what the commands took on the
        large one stands in its place.
    page_visits
        Visits of pages to tag on.
    few, many
        Runs whose median is given: of what takes seconds, and of what takes a blink.
    """

    photos: int = 20_000
    body_bytes: int = 500_000
    lean_photos: int = 2_000
    lean_body_bytes: int = 40_000
    known: int = 100_000
    seasons: int = 5
    cameras: int = 20
    bucks: int = 40
    photos_a_season: int = 50_000
    tagged_a_season: int = 5_250
    grown: frozenset[str] | None = None
    twice: str = "report"
    sample: bool = True
    page_visits: tuple[int, ...] = (500, 5_000)
    few: int = 3
    many: int = 9


FULL = Sizes()
TINY = Sizes(
    photos=60,
    body_bytes=20_000,
    lean_photos=40,
    lean_body_bytes=5_000,
    known=400,
    seasons=2,
    cameras=3,
    bucks=3,
    photos_a_season=300,
    tagged_a_season=60,
    grown=frozenset({"ingest, first", "check"}),
    twice="ingest",
    sample=False,
    page_visits=(20,),
    few=1,
    many=1,
)
"""Every row, at a size that tells nothing about speed."""
