"""Single cells."""

from __future__ import annotations

import pytest

from deerlog.property.cell_values import (
    CellError,
    one_of,
    parse_folder_name,
    parse_list,
    parse_number,
    parse_whole_number,
    parse_yes_no,
)


@pytest.mark.parametrize("text", ["yes", "Y", " TRUE ", "1", "x"])
def test_yes(text: str) -> None:
    assert parse_yes_no(text) is True


@pytest.mark.parametrize("text", ["no", "N", "false", "0"])
def test_no(text: str) -> None:
    assert parse_yes_no(text) is False


@pytest.mark.parametrize("text", ["", "maybe", "yess", "2"])
def test_neither_yes_nor_no(text: str) -> None:
    with pytest.raises(CellError) as caught:
        parse_yes_no(text)
    assert "yes or no" in caught.value.how


@pytest.mark.parametrize(
    ("text", "number"),
    [("45.3", 45.3), ("-91.2", -91.2), ("−91.2", -91.2), ("+4", 4.0), (".5", 0.5), ("3.", 3.0)],
)
def test_numbers(text: str, number: float) -> None:
    assert parse_number(text) == number


@pytest.mark.parametrize(
    "text", ["", "nan", "inf", "1_000", "45,3", "1,234.5", "45 F", "40°", "0x10", "٣"]
)
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(CellError):
        parse_number(text)


def test_a_decimal_comma_only_where_it_is_allowed() -> None:
    assert parse_number("-45,3", decimal_comma=True) == -45.3
    assert parse_number("45.3", decimal_comma=True) == 45.3
    with pytest.raises(CellError):
        parse_number("1,234,5", decimal_comma=True)


def test_range_includes_its_ends() -> None:
    assert parse_number("90", low=-90, high=90) == 90
    with pytest.raises(CellError, match=r"outside -90 to 90"):
        parse_number("90.01", low=-90, high=90)


def test_whole_numbers_also_as_spreadsheets_write_them() -> None:
    assert parse_whole_number("3.0", low=0, high=9) == 3
    with pytest.raises(CellError, match="whole"):
        parse_whole_number("3.5", low=0, high=9)


def test_one_of_names_the_choices() -> None:
    parse = one_of(("morning", "evening"), {"am": "morning"})
    assert parse(" AM ") == "morning"
    assert parse("Evening") == "evening"
    with pytest.raises(CellError, match="morning, evening"):
        parse("noon")


def test_lists_drop_blanks_and_repeats() -> None:
    assert parse_list(" Big  8; ;Comet;Big 8;") == ("Big 8", "Comet")


@pytest.mark.parametrize("text", ["a/b", "a\\b", "..", "con", "NUL.x", "a?", "x" * 101, "end."])
def test_names_some_system_refuses_as_a_folder(text: str) -> None:
    with pytest.raises(CellError):
        parse_folder_name(text)


def test_folder_names_keep_letters_of_all_kinds() -> None:
    assert parse_folder_name(" Öst  Seep-2_b ") == "Öst Seep-2_b"
