"""What a person writes in a bucks cell."""

from __future__ import annotations

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from deerlog.ingest.tags.tags import is_turned, read_bucks_cell, several_in_one
from deerlog.property.matching import BuckNames

KNOWN = BuckNames(
    pd.DataFrame({"buck": ["Old Plow", "Splitbrow", "8-Oct"], "aliases": [("Plow",), (), ()]})
)


def names(text: str) -> list[str]:
    cell = read_bucks_cell(text, KNOWN)
    return [name.name + ("?" if name.unsure else "") for name in cell.names]


@pytest.mark.parametrize("text", ["", "  ", "\t"])
def test_blank_is_not_looked_at(text: str) -> None:
    assert not read_bucks_cell(text, KNOWN).looked_at


@pytest.mark.parametrize("text", ["-", "–", "—", "\u2212", " - ", "?", ";"])
def test_looked_at_and_nobody_known(text: str) -> None:
    cell = read_bucks_cell(text, KNOWN)
    assert cell.looked_at
    assert cell.names == ()
    assert cell.turned == ()


def test_names_unsure_ones_and_repeats() -> None:
    assert names("Old Plow; Splitbrow?") == ["Old Plow", "Splitbrow?"]
    assert names(" Old   Plow ;;Old Plow ?") == ["Old Plow"]
    assert names("Splitbrow?;Splitbrow??") == ["Splitbrow?"]
    assert names("Newcomer；Splitbrow") == ["Newcomer", "Splitbrow"]
    assert names('=1+1;<script>;"Big" 🦌') == ["=1+1", "<script>", '"Big" 🦌']


@pytest.mark.parametrize(
    "text",
    ["10-Aug", "Aug-10", "10-Aug-24", "2024-08-10", "8/10", "08.10.2024", "45231", "1.2E+10", "7",
     "12:30", "12:30:00 PM", "#NAME?", "#REF!", "TRUE", "########"],
)  # fmt: skip
def test_what_a_spreadsheet_makes_of_a_name_is_no_name(text: str) -> None:
    assert is_turned(text)
    cell = read_bucks_cell(f"Old Plow;{text}", KNOWN)
    assert cell.turned == (text.rstrip("?"),)
    assert [name.name for name in cell.names] == ["Old Plow"]


@pytest.mark.parametrize("text", ["Old 8", "Ten", "August", "Mar", "10 point", "X-2", "May Buck"])
def test_names_that_only_hold_figures_or_months_are_names(text: str) -> None:
    assert not is_turned(text)


def test_a_listed_name_is_a_name_whatever_it_looks_like() -> None:
    assert names("8-Oct") == ["8-Oct"]


def test_names_separated_by_something_else() -> None:
    assert several_in_one("Old Plow, Splitbrow", KNOWN) == ("Old Plow", "Splitbrow")
    assert several_in_one("Plow & splitbrow?", KNOWN) == ("Plow", "splitbrow")
    assert several_in_one("Old Plow and friend", KNOWN) == ()
    assert several_in_one("Old Plow", KNOWN) == ()


@given(st.text(max_size=40))
def test_any_text_is_understood(text: str) -> None:
    cell = read_bucks_cell(text, KNOWN)
    assert cell.looked_at == bool(text.strip())
    for name in cell.names:
        assert name.name
        assert ";" not in name.name
        assert not name.name.endswith("?")
