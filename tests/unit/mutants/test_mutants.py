"""What is changed, what is left alone, and which tests are asked."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from mutants.changes import Change, possible_changes
from mutants.mutants import CHECKOUT, drawn_changes
from mutants.nearest import nearest_tests

LEFT_ALONE = '''
"""Twice 2 is 4 - or not."""
from typing import TYPE_CHECKING
if TYPE_CHECKING:
    LIMIT = 3
Days = int | str
COLUMNS = ("a", "b") + ("c",)
@cached(maxsize=32)
def f(a: int | None, *b: str, c: "x" = None, **d: list[1]) -> tuple[1, 2]:
    for name in b:
        raise ValueError(f"{a + 1} of {len(b) - 1}: " + "%d" % a, *b, **d)
'''


def becomes(line: str) -> set[str]:
    """What a line of code can turn into."""
    return {change.shown(line)[1] for ways in possible_changes(line) for change in ways}


@pytest.mark.parametrize(
    ("line", "changed"),
    [
        ("a + b", {"a - b"}),
        ("a**b // c", {"a*b // c", "a**b / c"}),
        ("(a) - b[c]", {"(a) + b[c]"}),
        ("f(-a, *b)", {"f(a, *b)"}),
        ("a < b", {"a <= b", "a > b"}),
        ("a >= b", {"a > b", "a <= b"}),
        ("a is not None and b", {"a is  None and b", "a is not None or b"}),
        ("None is a or b not in c", {"None is not a or b not in c", "None is a and b not in c"}
         | {"None is a or b  in c"}),
        ("[a for a in b if a in c]", {"[a for a in b if a not in c]"}),
        ("not a & ~b", {"a & ~b", "not a | ~b", "not a & b"}),
        ("a == 'x' and b", {"a != 'x' and b", "a == 'x' or b"}),
        ("min(a, b.argmax(c))", {"max(a, b.argmax(c))", "min(a, b.argmin(c))"}),
        ("min, a.max", set()),
        ("a -= b", {"a += b"}),
        ("a = 0, 3", {"a = 1, 3", "a = 0, 2", "a = 0, 4"}),
        ("a = 60, 0.0, 1.5", {"a = 120, 0.0, 1.5", "a = 30, 0.0, 1.5", "a = 60, 1.0, 1.5"}
         | {"a = 60, 0.0, 3.0", "a = 60, 0.0, 0.75"}),
    ],
)  # fmt: skip
def test_each_token_that_can_be_changed(line: str, changed: set[str]) -> None:
    assert becomes(line) == changed


def test_texts_types_and_decorators_are_left_alone() -> None:
    assert not becomes(LEFT_ALONE)


def test_a_change_is_made_where_it_is_said() -> None:
    source = "one = 1\nhalf = '½' if 1 < 2 else 3\n"
    first, *_ = possible_changes(source)[1]
    assert first == Change("", 2, 14, "1", "2")
    assert first.applied(source) == "one = 1\nhalf = '½' if 2 < 2 else 3\n"


def test_every_draw_is_code_and_other_code_and_the_same_for_a_seed() -> None:
    drawn = drawn_changes(["deerlog/timekeeping"], 40, 3)
    assert drawn == drawn_changes(["deerlog/timekeeping"], 40, 3)
    assert drawn != drawn_changes(["deerlog/timekeeping"], 40, 4)
    assert len({(change.path, change.line, change.start) for change in drawn}) == 40
    for change in drawn:
        source = (CHECKOUT / change.path).read_text("utf-8")
        assert ast.dump(ast.parse(change.applied(source))) != ast.dump(ast.parse(source))


def test_its_own_tests_come_first_and_those_that_cannot_reach_it_never(tmp_path: Path) -> None:
    for name, source in {
        "deerlog/room/__init__.py": "",
        "deerlog/room/a.py": "",
        "deerlog/room/b.py": "def f():\n    from deerlog.room import a",
        "deerlog/c.py": "HOME = 'deerlog.room.b'",
        "tests/shared.py": "import deerlog.c",
        "tests/unit/test_a.py": "import deerlog.room.a",
        "tests/unit/room/test_z.py": "from deerlog.room.a import f",
        "tests/unit/test_b.py": "from deerlog.room import b",
        "tests/unit/test_c.py": "from shared import f",
        "tests/unit/deep/conftest.py": "import deerlog.c",
        "tests/unit/deep/test_d.py": "",
        "tests/unit/test_e.py": "import deerlog, deerlog.room",
        "tests/browser/test_f.py": "import deerlog.room.a",
    }.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(source)
    found = [Path(name).stem for name in nearest_tests(tmp_path, "deerlog/room/a.py")]
    assert found == ["test_a", "test_z", "test_b", "test_d", "test_c"]
