"""Rows of values."""

from __future__ import annotations

from deerlog.property.cell_values import parse_number, parse_yes_no
from deerlog.property.table_reader import read_table_bytes
from deerlog.property.table_rows import Column, frame_of, read_records

COLUMNS = (
    Column(name="site", parse=str),
    Column(name="height", parse=parse_number, blank=1.5, number=True),
    Column(name="shade", parse=parse_yes_no, blank=False, unreadable=False, stand_in="no"),
)


def test_every_bad_cell_of_a_row_is_told_not_only_the_first() -> None:
    raw = b"site;height;shade\nOak;2,5;yes\n;tall;maybe\nBog;;\n"
    sheet = read_table_bytes(raw, ("site", "height", "shade"), file="t.csv")
    records, problems = read_records(sheet, COLUMNS)
    assert records == [
        {"row": 2, "site": "Oak", "height": 2.5, "shade": True},
        {"row": 4, "site": "Bog", "height": 1.5, "shade": False},
    ]
    assert [(p.kind, p.row, p.column, p.value) for p in problems] == [
        ("missing-cell", 3, "site", None),
        ("bad-cell", 3, "height", "tall"),
        ("bad-cell", 3, "shade", "maybe"),
    ]


def test_an_empty_frame_has_its_dtypes() -> None:
    frame = frame_of([], {"born": "Int64", "day": "datetime64[us]", "names": "object"})
    assert [str(t) for t in frame.dtypes] == ["Int64", "datetime64[us]", "object"]
