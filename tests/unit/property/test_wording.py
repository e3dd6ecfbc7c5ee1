from __future__ import annotations

import pytest

from deerlog.property.wording import agree, count, listing


@pytest.mark.parametrize(
    ("number", "words"),
    [(0, "0 visits"), (1, "1 visit"), (3, "3 visits"), (12_000, "12,000 visits")],
)
def test_a_count_with_its_noun(number: int, words: str) -> None:
    assert count(number, "visit") == words


def test_a_plural_of_its_own() -> None:
    assert count(2, "visit is", "visits are") == "2 visits are"
    assert agree(1, "it is", "they are") == "it is"
    assert agree(0, "it is", "they are") == "they are"


@pytest.mark.parametrize(
    ("parts", "words"),
    [((), ""), (("a",), "a"), (("a", "b"), "a and b"), (("a", "b", "c"), "a, b and c")],
)
def test_a_listing(parts: tuple[str, ...], words: str) -> None:
    assert listing(parts) == words
    assert listing(iter(parts), last="or") == words.replace(" and ", " or ")
