"""What a person writes in a bucks cell."""

from __future__ import annotations

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from deerlog.ingest.tags.bucks_cell import (
    MOST_NAMES,
    is_turned,
    no_name_words,
    read_bucks_cell,
    read_cells,
    several_in_one,
)
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


@pytest.mark.parametrize(
    "text", ["Old 8", "Ten", "August", "Mar", "Ten Point Pete", "X-2", "May Buck"]
)
def test_names_that_only_hold_figures_or_months_are_names(text: str) -> None:
    assert not is_turned(text)


def test_a_listed_name_is_a_name_whatever_it_looks_like() -> None:
    assert names("8-Oct") == ["8-Oct"]


def test_names_separated_by_something_else() -> None:
    assert several_in_one("Old Plow, Splitbrow", KNOWN) == ("Old Plow", "Splitbrow")
    assert several_in_one("Plow & splitbrow?", KNOWN) == ("Plow", "splitbrow")
    assert several_in_one("Old Plow and friend", KNOWN) == ()
    assert several_in_one("Old Plow", KNOWN) == ()
    assert several_in_one("Plow|Splitbrow", KNOWN) == ("Plow", "Splitbrow")
    assert several_in_one("Splitbrow Old Plow 8-Oct", KNOWN) == ("Splitbrow", "Old Plow", "8-Oct")
    assert several_in_one("Splitbrow Younger", KNOWN) == ()
    assert names("Old Plow\n\nSplitbrow\n") == ["Old Plow | Splitbrow"]
    assert several_in_one("Old Plow | Splitbrow", KNOWN) == ("Old Plow", "Splitbrow")


@pytest.mark.parametrize(
    "text",
    ["none", "No", "nobody", "Same", "same as above", "as above", "ditto", "DOE", "fawn", "me",
     '"', "''", "8 pt", "10pts", "an 8 pointer", "10 point", "Unknown buck"],
)  # fmt: skip
def test_words_that_are_no_names_are_no_buck_and_no_nobody(text: str) -> None:
    cell = read_bucks_cell(text, KNOWN)
    assert (cell.looked_at, cell.names, len(cell.no_names)) == (False, (), 1)
    assert cell.no_names[0][1].startswith("Write ")
    with_him = read_bucks_cell(f"Plow; {text}", KNOWN)
    assert with_him.looked_at and [name.name for name in with_him.names] == ["Plow"]


def test_a_word_that_is_listed_is_a_name_and_settings_may_add_words() -> None:
    listed = BuckNames(pd.DataFrame({"buck": ["Ditto"], "aliases": [("8 pt",)]}))
    assert [n.name for n in read_bucks_cell("ditto; 8 pt", listed).names] == ["ditto", "8 pt"]
    assert read_bucks_cell("Nix", KNOWN).names
    assert read_bucks_cell("Nix", KNOWN, no_name_words(["nix"])).no_names


def rows(*texts: str, file: str = "tags/Seep.csv") -> pd.DataFrame:
    return pd.DataFrame({"file": file, "bucks": list(texts)})


def bucks(table: pd.DataFrame) -> set[str]:
    cells, _ = read_cells(table, KNOWN)
    return {name.name for cell in cells.values() for name in cell.names}


def test_a_run_of_numbers_made_by_dragging_is_one_name() -> None:
    run = ("Big 8", "Big 9", "Big 10", "Big 11")
    assert bucks(rows("", *run, "-")) == {"Big 8"}
    cells, _ = read_cells(rows(*run), KNOWN)
    assert "Write Big 8" in cells["Big 10"].no_names[0][1] and not cells["Big 10"].looked_at
    assert bucks(rows("Big 8", "Big 9", "Splitbrow")) == {"Big 8", "Big 9", "Splitbrow"}  # two only
    assert bucks(rows("Big 9", "-", *run)) == {"Big 8", "Big 9"}  # one that stands elsewhere too
    parts = [rows("Big 8", "Big 9"), rows("Big 10", file="tags/Gate.csv")]
    assert bucks(pd.concat(parts)) == {"Big 8", "Big 9", "Big 10"}


def test_more_names_than_there_can_be_bucks_are_left_out_the_least_used_first() -> None:
    words = [f"w{chr(97 + i % 26)}{i}x" for i in range(5_000)]
    table = rows(";".join(words), "Newcomer", "Newcomer", "Plow", ";".join(words[40:60]))
    cells, left_out = read_cells(table, KNOWN)
    kept = {name.name for cell in cells.values() for name in cell.names}
    assert len(left_out) == 5_001 - MOST_NAMES and len(kept) == MOST_NAMES + 1
    assert kept >= {"Plow", "Newcomer", *words[40:60]}


@given(st.text(max_size=40))
def test_any_text_is_understood(text: str) -> None:
    cell = read_bucks_cell(text, KNOWN)
    assert cell.looked_at == (bool(text.strip()) and bool(cell.names or not cell.no_names))
    for name in cell.names:
        assert name.name
        assert ";" not in name.name
        assert not name.name.endswith("?")
