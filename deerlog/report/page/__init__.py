"""The pages a person opens: the report and the visits to tag, with their drawings."""

from __future__ import annotations

import os
import shutil
import tempfile
from contextlib import suppress
from pathlib import Path


def _font_list_in_temporary_folder() -> tempfile.TemporaryDirectory[str] | None:
    """Where matplotlib keeps its list of fonts while deerlog runs; None where that is chosen.

    It would write one into the home folder, and nothing is written outside the property. A list
    that another program had made there is taken along, since to look for fonts takes a while.
    """
    if "MPLCONFIGDIR" in os.environ:
        return None
    folder = tempfile.TemporaryDirectory(prefix="deerlog-fonts-", ignore_cleanup_errors=True)
    os.environ["MPLCONFIGDIR"] = folder.name
    with suppress(OSError, RuntimeError):  # no home, or none that may be read
        caches = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
        for kept in (caches / "matplotlib", Path.home() / ".matplotlib"):
            for known in kept.glob("fontlist-*.json"):
                shutil.copyfile(known, Path(folder.name, known.name))
    return folder


_FONT_LIST = _font_list_in_temporary_folder()
