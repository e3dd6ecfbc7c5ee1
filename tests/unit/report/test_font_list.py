"""Drawing leaves nothing outside the property."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

DRAW = (
    "import os; from deerlog.report.page import svg; import matplotlib.font_manager as fonts;"
    "print(os.environ['MPLCONFIGDIR']); print(len(fonts.fontManager.ttflist) > 0)"
)


def test_no_font_list_is_left_in_the_home_folder(tmp_path: Path) -> None:
    home, temporary = tmp_path / "home", tmp_path / "temporary"
    home.mkdir()
    temporary.mkdir()
    known = {"PYTHONPATH": os.pathsep.join(sys.path), "PATH": os.environ["PATH"]}
    known |= {"SYSTEMROOT": os.environ["SYSTEMROOT"]} if "SYSTEMROOT" in os.environ else {}
    places = {"HOME": str(home), "USERPROFILE": str(home), "TMPDIR": str(temporary)}
    done = subprocess.run(
        [sys.executable, "-c", DRAW], env=known | places, capture_output=True, text=True, check=True
    )
    used, drawn = done.stdout.split()
    assert drawn == "True"
    assert list(home.iterdir()) == []
    assert list(temporary.iterdir()) == [] and not Path(used).exists()


def test_a_list_that_is_there_is_taken_along_and_a_chosen_place_kept(tmp_path: Path) -> None:
    caches = tmp_path / "caches" / "matplotlib"
    caches.mkdir(parents=True)
    (caches / "fontlist-v0.json").write_text("{}")
    code = (
        "import os, pathlib, deerlog.report.page;"
        "print([p.name for p in pathlib.Path(os.environ['MPLCONFIGDIR']).iterdir()])"
    )
    env = dict(os.environ, XDG_CACHE_HOME=str(caches.parent))
    env.pop("MPLCONFIGDIR", None)
    for chosen in ({}, {"MPLCONFIGDIR": str(caches)}):
        run = [sys.executable, "-c", code]
        done = subprocess.run(run, env=env | chosen, capture_output=True, text=True, check=True)
        assert "fontlist-v0.json" in done.stdout
