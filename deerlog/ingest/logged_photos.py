"""The photo log with all that the property's tables decide: times, sites, copies and visits."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.ingest.clocks.excluded_times import excluded_times
from deerlog.ingest.clocks.retime import corrected_times
from deerlog.ingest.same_picture import same_pictures
from deerlog.property import Property
from deerlog.property.matching import fold_name
from deerlog.property.placements import placement_rows
from deerlog.timekeeping.gaps import visit_numbers


def logged_photos(
    stored: pd.DataFrame, place: Property, tag_paths: Mapping[str, Collection[str]] | None = None
) -> pd.DataFrame:
    """Photos, videos and CSV rows of the photo log, with corrected times, sites and visits.

    Parameters
    ----------
    stored
        See `deerlog.ingest.store.stored_files.Stored`.
    place
        The property.
    tag_paths
        Of `deerlog.ingest.tags.tags.tag_paths`: of copies of one picture one with a tag row counts.

    Returns
    -------
    DataFrame
        One row a photo in order of camera, path (copies included); index 0, 1, ...:

        - ``photo_id`` int, its place in this order; ``camera`` as in cameras.csv; ``folder`` below
          cards/; ``path`` below that; ``listed_in``, ``replaced``, ``kind``, ``reason``, ``look``,
          ``flash``, ``gone`` as in the photo log
        - ``shown`` (naive, what the camera showed), ``time`` (UTC), ``local`` (in the property's
          zone), ``time_source``, ``time_fault`` (``""``, ``twice``, ``never``), ``by_row``
          (clock.csv set it), ``foreign_offset``
        - ``excluded``: why its time cannot be true (``""`` if it can). Such a photo has no site
          and no visit until a row of clock.csv mends it
        - ``site`` (``""`` outside any placement), ``placement`` (row number, -1 for none)
        - ``same_as``: photo_id it is a copy of, NA for one that counts
        - ``visit``: number in order of site and time, -1 for none; a copy has its original's
    """
    zone = place.settings.timezone
    photos = stored[stored["kind"].isin(("photo", "video", "log"))].reset_index(drop=True)
    folder = photos["camera"].to_numpy(dtype=object)
    called = cameras_of(dict.fromkeys(folder), place)
    camera = np.array([called[name] for name in folder], dtype=object)
    shown = np.asarray(photos["shown"], dtype="datetime64[us]")
    times = corrected_times(
        camera,
        shown,
        photos["offset_minutes"].to_numpy(),
        place.placements,
        place.clock_readings,
        zone,
    )
    fraction = photos["fraction_us"].to_numpy().astype("timedelta64[us]")
    utc = times.utc + fraction
    time = pd.DatetimeIndex(utc).tz_localize("UTC")
    local = time.tz_convert(zone)
    wall = np.asarray(local.tz_localize(None), dtype="datetime64[us]")
    excluded = excluded_times(wall, photos["read_on"])
    placement = placement_rows(camera, wall, place.placements)
    placement[excluded != ""] = -1
    sites = np.append(place.placements["site"].to_numpy(dtype=object), "")
    site = sites[placement]
    same = same_pictures(
        photos,
        listed_camera=np.isin(camera, place.placements["camera"].unique()),
        has_tag_row=_has_tag_row(camera, photos["path"], tag_paths or {}),
    )
    return pd.DataFrame(
        {
            "photo_id": np.arange(len(photos), dtype=np.int64),
            "camera": pd.Series(camera, dtype="str"),
            "folder": pd.Series(folder, dtype="str"),
            "path": photos["path"].astype("str"),
            "listed_in": photos["listed_in"].astype("str"),
            "replaced": photos["replaced"],
            "kind": photos["kind"].astype("str"),
            "reason": photos["reason"].astype("str"),
            "look": photos["look"],
            "flash": _yes_no(photos["flash"].to_numpy()),
            "gone": photos["gone"],
            "shown": shown,
            "time": time,
            "local": local,
            "time_source": photos["time_source"].astype("str"),
            "time_fault": pd.Series(times.fault, dtype="str"),
            "by_row": times.by_row,
            "foreign_offset": times.foreign_offset,
            "excluded": pd.Series(excluded, dtype="str"),
            "site": pd.Series(site, dtype="str"),
            "placement": placement,
            "same_as": pd.arrays.IntegerArray(np.maximum(same, 0), same < 0),
            "visit": _visits(site, utc, same, place.settings.visit_gap_minutes),
        }
    )


def cameras_of(folders: Iterable[str], place: Property) -> dict[str, str]:
    """Camera of each card folder: the name in cameras.csv it equals, but for case and spaces."""
    folders = list(folders)
    names = set(place.placements["camera"])
    folded = {fold_name(name): name for name in sorted(names) if name not in folders}
    called = {}
    for name in folders:
        # Only one folder may stand for a camera: two would mix up their paths.
        called[name] = name if name in names else folded.pop(fold_name(name), name)
    return called


def _has_tag_row(
    camera: npt.NDArray[np.object_], path: pd.Series, tag_paths: Mapping[str, Collection[str]]
) -> npt.NDArray[np.bool_]:
    """Whether a row of the camera's tag sheet gives a photo's path."""
    has_row = np.zeros(len(camera), dtype=bool)
    code, names = pd.factorize(camera)
    for number, name in enumerate(names):
        if name in tag_paths:
            mine = np.flatnonzero(code == number)
            has_row[mine] = path.iloc[mine].isin(tag_paths[name]).to_numpy()
    return has_row


def _yes_no(values: npt.NDArray[np.float64]) -> pd.arrays.BooleanArray:
    """1, 0 and NaN as True, False and NA."""
    return pd.arrays.BooleanArray(values == 1, np.isnan(values))


def _visits(
    site: npt.NDArray[np.object_],
    utc: npt.NDArray[np.datetime64],
    same: npt.NDArray[np.int64],
    gap_minutes: float,
) -> npt.NDArray[np.int64]:
    """Visit of each photo; the cameras of one site are pooled."""
    visit = np.full(len(site), -1, dtype=np.int64)
    counts = (site != "") & (same < 0)
    visit[counts] = visit_numbers(site[counts], utc[counts], gap_minutes)
    copies = same >= 0
    visit[copies] = visit[same[copies]]
    return visit
