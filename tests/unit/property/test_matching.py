"""Names: the same, near, or another."""

from __future__ import annotations

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import settings as budget
from hypothesis import strategies as st

from deerlog.property.matching import BuckNames, NameList, fold_name, letters_off

BUCKS = pd.DataFrame(
    {
        "buck": ["Comet", "Split Brow", "Kink", "Buck 12", "Oz"],
        "aliases": [("Wide Nine", "Cmt"), (), (), (), ()],
    }
)


@pytest.mark.parametrize(
    ("a", "b", "off"),
    [
        ("", "", 0),
        ("comet", "comet", 0),
        ("comet", "cmet", 1),
        ("comet", "coomet", 1),
        ("comet", "cometa", 1),
        ("comet", "camet", 1),
        ("comet", "cmoet", 1),
        ("comet", "moct", 3),
        ("", "abc", 3),
        # The restricted distance: no letter is moved and then changed.
        ("ca", "abc", 3),
    ],
)
def test_letters_off(a: str, b: str, off: int) -> None:
    assert letters_off(a, b) == off


@budget(max_examples=60, deadline=None)
@given(st.text("abc", max_size=6), st.text("abc", max_size=6))
def test_letters_off_is_symmetric_and_bounded(a: str, b: str) -> None:
    off = letters_off(a, b)
    assert off == letters_off(b, a)
    assert abs(len(a) - len(b)) <= off <= max(len(a), len(b))
    assert (off == 0) == (a == b)


@pytest.mark.parametrize("name", ["comet", " COMET ", "wide nine", "WideNine", "cmt"])
def test_names_and_aliases_in_any_case_and_spacing_are_the_buck(name: str) -> None:
    assert BuckNames(BUCKS).canonical(name) == "Comet"


def test_a_name_not_listed_stands_for_itself() -> None:
    names = BuckNames(BUCKS)
    assert names.listed("Old  Mossy") is None
    assert names.canonical(" Old  Mossy ") == "Old Mossy"


@pytest.mark.parametrize(
    ("name", "buck", "off"),
    [
        ("Comte", "Comet", 1),
        ("Commett", "Comet", 2),
        ("wide nime", "Comet", 1),
        ("SplitBrow", "Split Brow", 0),
        ("comet", "Comet", 0),
        ("Kinkk", "Kink", 1),
        ("Kin", "Kink", 1),
        ("Buck 1 2", "Buck 12", 0),
    ],
)
def test_a_slip_is_known_for_what_it_is(name: str, buck: str, off: int) -> None:
    near = BuckNames(BUCKS).near(name)
    assert near is not None
    assert (near.name, near.letters_off) == (buck, off)


@pytest.mark.parametrize("name", ["Comet", "Ki", "Knik x", "Kong", "Buck 13", "Buck 2", "Ox"])
def test_what_is_no_slip(name: str) -> None:
    assert BuckNames(BUCKS).near(name) is None


def test_why_says_what_and_through_which_alias() -> None:
    near = BuckNames(BUCKS).near("Wide Nime")
    assert near is not None
    assert near.why == "one letter off Wide Nine (an alias of Comet)"
    near = BuckNames(BUCKS).near("comet")
    assert near is not None
    assert near.why == "other capitals or spaces than Comet"


def test_two_bucks_as_near_are_both_named() -> None:
    bucks = pd.DataFrame({"buck": ["Marlow", "Harlow"], "aliases": [(), ()]})
    near = BuckNames(bucks).near("Carlow")
    assert near is not None
    assert (near.name, near.others) == ("Harlow", ("Marlow",))


def test_fold_name_joins_forms_of_one_letter() -> None:
    assert fold_name("Jose\u0301") == fold_name("JOS\u00c9")


def test_name_list_advises() -> None:
    sites = NameList(["Oak Flat", "Saddle"])
    assert sites.find("oakflat") == "Oak Flat"
    assert sites.find("Oakflatt") is None
    assert "Write Oak Flat" in sites.advice("Oakflatt", "cameras.csv")
    assert "add Bog to cameras.csv" in sites.advice("Bog", "cameras.csv")
