"""Stands whose row could not be used are known with the property, by name and row."""

from __future__ import annotations

from pathlib import Path

import pytest
from invented.small_property import TABLES

from deerlog.property import Property, open_property


def opened(folder: Path, stands: str | None) -> Property:
    for name, text in TABLES.items():
        (folder / name).write_text(text, encoding="utf-8")
    path = folder / "stands.csv"
    if stands is None:
        path.unlink()
    else:
        path.write_text(stands, encoding="utf-8")
    return open_property(folder)


def test_each_once_in_file_order(tmp_path: Path) -> None:
    place = opened(
        tmp_path,
        "stand,sites,winds\n"
        "Ridge Ladder,Ridge,northish\n"
        "Bean Blind,Beans,\n"
        "bean blind,Ridge,\n"
        "Pond Stand,Nowhere,\n"
        "pond stand,Nowhere,\n"
        ",Ridge,\n",
    )
    assert list(place.stands["stand"]) == ["Bean Blind"]
    assert place.stands_left_out == {"Ridge Ladder": 2, "Pond Stand": 5}


@pytest.mark.parametrize(
    "stands", [None, TABLES["stands.csv"], "winds\nN\n"], ids=["absent", "good", "no-header"]
)
def test_none(tmp_path: Path, stands: str | None) -> None:
    assert opened(tmp_path, stands).stands_left_out == {}
