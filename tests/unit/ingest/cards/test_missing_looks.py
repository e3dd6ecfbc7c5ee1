"""Large pictures without a thumbnail get a look, as many as tell a clock and no more."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from invented.card_photos import exif_block, picture, with_exif
from PIL import Image

from deerlog.ingest.cards.missing_looks import CHANGING_HOURS, LOOKS_A_CAMERA, missing_looks
from deerlog.ingest.cards.picture import look_of, look_of_upper_half

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]
FILLER = b"\xff\xfe\xff\xff" + bytes(65_533)


def large(shown: datetime, *, night: bool, seed: int, flash: int | None = 1) -> bytes:
    """A picture above 128 kB without thumbnail."""
    jpeg = picture(seed, grey=night, width=320, height=240)
    block = exif_block(original=f"{shown:%Y:%m:%d %H:%M:%S}", more={"flash": flash})
    return with_exif(jpeg[:2] + 3 * FILLER + jpeg[2:], block)


def test_they_get_a_look_where_the_flash_tells_nothing(place: Place, at: At) -> None:
    for i in range(24):
        shown, night = at(10, 5, 0) + i * timedelta(hours=1), not 7 <= i <= 18
        place.card(f"Seep/IMG_{i + 1:04d}.JPG", large(shown, night=night, seed=i))
        tells = large(shown, night=night, seed=i, flash=int(night))
        place.card(f"Gate/IMG_{i + 1:04d}.JPG", tells)
    place.ingest()
    photos = place.log().photos
    seep, gate = (photos[photos["camera"] == camera] for camera in ("Seep", "Gate"))
    by_day = seep["local"].dt.hour.between(7, 18)
    assert (seep.loc[by_day, "look"] > 0.9).all() and (seep.loc[~by_day, "look"] < 0.1).all()
    assert gate["look"].isna().all()


def files(n: int) -> pd.DataFrame:
    rng = np.random.default_rng(3)
    shown = pd.Timestamp("2024-09-01") + pd.to_timedelta(rng.uniform(0, 60, n), unit="D")
    return pd.DataFrame(
        {
            "camera": "Seep",
            "path": [f"IMG_{i:05d}.JPG" for i in range(n)],
            "listed_in": "",
            "replaced": 0,
            "kind": "photo",
            "reason": "",
            "size": 300_000,
            "gone": False,
            "shown": shown,
            "head": rng.integers(0, 1 << 60, n),
            "look": np.nan,
            "flash": 1.0,
        }
    )


def test_they_are_spread_over_weeks_and_the_hours_in_which_the_light_changes() -> None:
    table = files(2000)
    wanted = missing_looks(table)
    assert len(wanted) == LOOKS_A_CAMERA
    assert len(missing_looks(files(3000))) == 60 == len(missing_looks(files(60)))
    assert wanted["shown"].dt.hour.isin(CHANGING_HOURS).all()
    assert wanted["shown"].dt.isocalendar().week.nunique() >= 8
    # Wherever a run was interrupted, the next one takes the rest of the same.
    table.loc[wanted.index[::2], "look"] = 1.0
    assert set(missing_looks(table).index) == set(wanted.index[1::2])
    assert len(missing_looks(files(30))) == 30


def test_half_a_picture_tells_as_much_as_all_of_it() -> None:
    for grey in (True, False):
        jpeg = picture(5, grey=grey, width=320, height=240)
        half, whole = look_of_upper_half(jpeg), look_of(jpeg)
        assert half is not None and whole is not None and abs(half - whole) < 0.1
    # What lies below is not looked at.
    both = Image.new("RGB", (320, 240), (90, 90, 90))
    both.paste((200, 30, 30), (0, 130, 160, 240))
    both.paste((30, 90, 200), (160, 130, 320, 240))
    out = io.BytesIO()
    both.save(out, "JPEG")
    assert look_of_upper_half(out.getvalue()) == 0.0
    assert (look_of(out.getvalue()) or 0.0) > 0.9
    assert look_of_upper_half(b"\xff\xd8\xff\xd9") is None
