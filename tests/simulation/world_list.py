"""The worlds to be measured in, and which of them and of their seeds a developer may tune on."""

from __future__ import annotations

from dataclasses import dataclass, field

from .passings import TagErrors

PERFECT = TagErrors(missed=0.0, wrong=0.0, unsure=0.0, wrong_when_unsure=0.0)
SQUARE_MILE_M = 1609.344
ACRE_M2 = 4046.856

TUNING_SEEDS = range(1000, 1010)
HELD_OUT_SEEDS = range(2000, 2010)


@dataclass(frozen=True, kw_only=True)
class World:
    """One kind of property; what is not named is as on the properties of `ground`.

    Attributes
    ----------
    tuning
        Constants may be chosen on it. What is told of the others is told of worlds that no
        constant has seen.
    n_seasons
        Hunting seasons on record; chances and labels are asked for in the last.
    side_m
        None draws 1,000 to 2,000 m.
    n_cameras
        None draws 4 to 20.
    density
        Share of his days on which a resident is photographed, on average.
    n_bucks
        Bucks besides those of ``kinds``.
    kinds
        How many bucks of each kind of `world_lives.KINDS` there are.
    shot_on
        Month and day on which those that are shot are shot; None draws one for each.
    first_camera
        Month and day on which the first season's cameras go up, all at once.
    field_ranges
        Ranges of the size found in the field rather than as large as the ground allows.
    clumping
        Shape of the gamma noise of a buck's rate at a site on a day; large is Poisson.
    drift_sd, drift_days
        Noise in his log rate, the same at all sites, and over how many days it fades by e.
    tagger
        A key of `taggers.TAGGERS`.
    tracks
        Key of `tracks_world.TRACKS`: real tracks rather than simulated bucks.
    """

    name: str
    tuning: bool = False
    n_seasons: int = 1
    side_m: float | None = None
    n_cameras: int | None = None
    density: float = 0.42
    n_bucks: int = 12
    kinds: dict[str, int] = field(default_factory=dict)
    shot_on: tuple[int, int] | None = None
    first_camera: tuple[int, int] | None = None
    field_ranges: bool = False
    clumping: float = 0.8
    drift_sd: float = 0.0
    drift_days: float = 10.0
    errors: TagErrors = field(default_factory=TagErrors)
    tagger: str = "usual"
    tracks: str | None = None

    @property
    def until_next_summer(self) -> bool:
        """Whether the record goes on until the 31st of July after the last hunting season."""
        return bool({"shot", "left"} & set(self.kinds))


_LARGE = {"side_m": 2 * SQUARE_MILE_M, "field_ranges": True, "n_bucks": 16}
_TINY = {"side_m": (200 * ACRE_M2) ** 0.5, "field_ranges": True}

WORLDS = tuple(
    World(name=name, **given)  # type: ignore[arg-type]
    for name, given in {
        # The properties that the constants have been looked at on.
        "today-busy": {"tuning": True, "n_seasons": 3, "density": 0.85},
        "today-thin": {"tuning": True, "n_seasons": 3},
        "today-first-fall": {"tuning": True},
        "today-very-thin": {"n_seasons": 2, "density": 0.18},
        # Ground.
        "large-26-cameras": {"tuning": True, "n_seasons": 2, "n_cameras": 26} | _LARGE,
        "large-40-cameras": {"n_cameras": 40, "density": 0.6} | _LARGE,
        "large-8-cameras": {"n_seasons": 2, "n_cameras": 8, "density": 0.2} | _LARGE,
        "tiny-4-cameras": {"n_seasons": 2, "n_cameras": 4} | _TINY,
        # How much is on record.
        "from-20-september": {"tuning": True, "first_camera": (9, 20)},
        "from-1-june": {"first_camera": (6, 1)},
        "from-1-october": {"first_camera": (10, 1)},
        "from-15-october": {"first_camera": (10, 15)},
        "8-cameras": {"tuning": True, "n_cameras": 8},
        "1-camera": {"n_cameras": 1, "density": 0.12},
        "3-cameras": {"n_cameras": 3, "density": 0.25},
        "30-cameras": {"n_cameras": 30, "density": 0.85},
        # Bucks that no pattern of the model describes.
        "passers": {"tuning": True, "n_bucks": 9, "kinds": {"passer": 6}},
        "passers-busy": {"n_seasons": 2, "density": 0.85, "n_bucks": 9, "kinds": {"passer": 6}},
        "edge": {"n_bucks": 9, "kinds": {"edge": 5}},
        "shot-12-november": {
            "tuning": True,
            "n_bucks": 8,
            "kinds": {"shot": 6},
            "shot_on": (11, 12),
        },
        "shot-any-day": {"n_seasons": 2, "n_bucks": 8, "kinds": {"shot": 6}},
        "left": {"n_bucks": 8, "kinds": {"left": 6}},
        "moved-in": {"n_seasons": 2, "n_bucks": 8, "kinds": {"moved in": 6}},
        "moved-ground": {"n_seasons": 2, "n_bucks": 8, "kinds": {"moved ground": 6}},
        # How he comes.
        "drift-a-week": {"tuning": True, "drift_sd": 0.7, "drift_days": 7.0},
        "drift-a-fortnight": {"drift_sd": 1.0, "drift_days": 14.0, "n_cameras": 6},
        "poisson": {"tuning": True, "clumping": 50.0},
        "clumped": {"n_seasons": 2, "clumping": 0.3},
        # Who writes the tags.
        "perfect": {"tuning": True, "n_seasons": 3, "errors": PERFECT, "clumping": 50.0},
        "perfect-first-fall": {"errors": PERFECT, "density": 0.85},
        "hasty": {"tuning": True, "tagger": "hasty"},
        "targets-only": {"tagger": "targets only"},
        "daylight-only": {"tagger": "daylight only"},
        "wrong-5": {"tuning": True, "n_seasons": 2, "errors": TagErrors(wrong=0.05)},
        "wrong-10": {"errors": TagErrors(wrong=0.10)},
        "wrong-20": {"n_seasons": 2, "errors": TagErrors(wrong=0.20)},
        "look-alikes": {"errors": TagErrors(swapped=0.3)},
        # Real tracks.
        "tracks-spring": {"tuning": True, "tracks": "spring 2023"},
        "tracks-autumn": {"tracks": "autumn 2023"},
        "tracks-winter": {"tracks": "winter 2024"},
    }.items()
)
TUNING_WORLDS = tuple(w.name for w in WORLDS if w.tuning)
HELD_OUT_WORLDS = tuple(w.name for w in WORLDS if not w.tuning)


def world_named(name: str) -> World:
    """The world of that name.

    Raises
    ------
    ValueError
        There is none.
    """
    for world in WORLDS:
        if world.name == name:
            return world
    raise ValueError(
        f"there is no world {name}; the worlds are: {', '.join(w.name for w in WORLDS)}"
    )
