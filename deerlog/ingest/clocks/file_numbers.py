"""The running numbers that cameras give their files, and the order they stand for.

Cameras number files from 0001 to 9999 and begin again, mostly in the next folder: DCIM/100AAAAA,
DCIM/101AAAAA (JEITA CP-3461, Design rule for Camera File system 2.0; from memory).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

HIGHEST = 9999
"""The last number before a camera begins again at 0001 (JEITA CP-3461; from memory)."""
ROLL_OVER_GAP = 2000
"""Where one folder holds numbers near both ends and none over so wide a stretch between, it was
filled across the roll-over. Our choice."""

# A stem ending in three to five digits after something that is no digit and holds no date.
_STEM = r"^(?P<prefix>(?:.*\D)?)(?P<digits>\d{3,5})$"
_DATE_IN_PREFIX = r"\d{6}|\d{4}[-_.]\d{2}[-_.]\d{2}"
_NUMBERED_FOLDER = r"^(?P<number>[1-9]\d\d)[0-9A-Za-z_]{5}$"


def numbered_series(path: pd.Series) -> pd.DataFrame:
    """The card, folder number and file number of each photo.

    Parameters
    ----------
    path
        Paths below one or more cameras' folders, with ``/``.

    Returns
    -------
    DataFrame
        Index of ``path``; ``folder`` (of the card: numbered folders side by side are one),
        ``series`` (folder and, for names of another form than four letters and four digits, their
        prefix: files numbered together), ``folder_number`` (0 where the folder has none),
        ``number`` (-1 where the name has none; past the roll-over within one folder counted on
        from 10,000).
    """
    parent, stem = _split(path.astype(str))
    stem = stem.str.replace(r"\.[^.]*$", "", regex=True)
    above, own = _split(parent)
    folder_number = own.str.extract(_NUMBERED_FOLDER)["number"]
    folder = parent.where(folder_number.isna(), above)

    found = stem.str.extract(_STEM)
    dated = found["prefix"].fillna("").str.contains(_DATE_IN_PREFIX, regex=True)
    has_number = found["digits"].notna() & ~dated
    number = found["digits"].where(has_number).astype("float64").fillna(-1).astype("int64")
    # Names of the standard form share one counter between pictures and videos (IMG_, VID_).
    standard = (found["prefix"].str.len() == 4) & (found["digits"].str.len() == 4)
    prefix = found["prefix"].where(~standard, "").where(has_number, "/").fillna("/")
    # No name holds a "/", so that folder and prefix cannot run into each other.
    series = folder + "/" + prefix
    result = pd.DataFrame(
        {
            "folder": folder.astype(str),
            "series": series.astype(str),
            "folder_number": folder_number.fillna("0").astype("int64"),
            "number": number,
        },
        index=path.index,
    )
    groups = result.groupby([parent.astype(str), "series"])["number"]
    wide = groups.transform(lambda n: int(n.max()) - int(n.min()) >= HIGHEST - ROLL_OVER_GAP)
    for _, rows in result[wide.astype(bool)].groupby([parent.astype(str), "series"]):
        result.loc[rows.index, "number"] = _rolled(np.asarray(rows["number"], dtype=np.int64))
    return result


def _split(path: pd.Series) -> tuple[pd.Series, pd.Series]:
    """What stands before and after the last ``/``."""
    parts = path.str.extract(r"^(?:(?P<above>.*)/)?(?P<own>[^/]*)$")
    return parts["above"].fillna("").astype(str), parts["own"].fillna("").astype(str)


def _rolled(number: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Numbers of one folder, those after a roll-over counted on from 10,000."""
    if number.max() > HIGHEST or number.min() < 0:
        return number
    present = np.unique(number)
    gap = np.diff(present)
    if len(gap) == 0 or gap.max() < ROLL_OVER_GAP:
        return number
    last_low = present[int(gap.argmax())]
    return np.where(number <= last_low, number + HIGHEST + 1, number)
