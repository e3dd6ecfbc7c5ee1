"""Rows that cannot be used, sits from before any camera, and Ctrl-C: no traceback, nothing lost."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner
from invented.small_property import make_small_property

from deerlog.analysis.plan.past_sits import aftermath
from deerlog.cli import main


@pytest.mark.parametrize(
    "row",
    [
        "cam-99,Lost,food,abc,-91.2,2025-08-01,",
        "cam-99,Lost,food,38.4,-91.2,2025-08-01,2025-07-01",
        "cam-99,Lost,food,12.0,91.2,2025-08-01,",
    ],
)
def test_an_unusable_row_of_cameras_is_told_and_stops_nothing(tmp_path: Path, row: str) -> None:
    folder = make_small_property(tmp_path / "hollow")
    cameras = folder / "cameras.csv"
    text = cameras.read_text(encoding="utf-8").rstrip("\n")
    width = text.splitlines()[0].count(",")
    cells = dict(
        zip(
            ["camera", "site", "setting", "latitude", "longitude", "start", "end"],
            row.split(","),
            strict=True,
        )
    )
    header = text.splitlines()[0].split(",")
    cameras.write_text(
        f"{text}\n{','.join(cells.get(name, '') for name in header)}\n", encoding="utf-8"
    )
    assert width == len(header) - 1
    for command in ("ingest", "check"):
        found = CliRunner().invoke(main, ["--property", str(folder), command])
        assert found.exception is None or isinstance(found.exception, SystemExit)
        assert found.exit_code == 1
    assert "cameras.csv" in found.output


def test_sits_from_before_the_first_camera_day_say_nothing_of_days_after() -> None:
    days = pd.date_range("2025-08-01", periods=10, freq="D", unit="us")
    running = pd.DataFrame(1.0, index=days, columns=["Oak"]).to_numpy()
    found = aftermath(
        pd.DataFrame({"day": [pd.Timestamp("2025-07-01")], "stand": ["Ladder"]}),
        pd.DataFrame({"stand": ["Ladder"], "sites": [("Oak",)], "rest_days": [3]}),
        days=days,
        sites=["Oak"],
        running=running,
        buck_days=running * 0,
    )
    assert (found.sits, found.ratio) == (0, None)


def test_ctrl_c_is_told_apart_from_something_to_mend(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = make_small_property(tmp_path / "hollow", tagged=False)

    def stop(*args: object, **more: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("deerlog.ingest.run.ingest_cards", stop)
    found = CliRunner().invoke(main, ["--property", str(folder), "ingest"])
    assert found.exit_code == 130
    assert "goes on from here" in found.output and "Traceback" not in found.output
