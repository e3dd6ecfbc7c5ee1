"""The comparison names every file that differs, and no other."""

from __future__ import annotations

from pathlib import Path

from frozen.frozen import differences


def _tree(folder: Path, files: dict[str, bytes]) -> Path:
    for name, content in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    return folder


def test_equal_trees_have_no_differences(tmp_path: Path) -> None:
    files = {"a.txt": b"one\ntwo\n", "in/b.png": b"\x89\x00"}
    assert differences(_tree(tmp_path / "old", files), _tree(tmp_path / "new", files)) == (2, [])


def test_each_difference_is_named_with_its_first_line(tmp_path: Path) -> None:
    long = b"x" * 500
    old = {
        "a": b"same",
        "b": b"one\n" + long + b"4" + long,
        "c": b"end\n",
        "d": b"",
        "f/g": b"\xff",
    }
    new = {"a": b"same", "b": b"one\n" + long + b"5" + long, "c": b"end", "e": b"", "f/g": b"\xfe"}
    files, found = differences(_tree(tmp_path / "old", old), _tree(tmp_path / "new", new))
    x = "x" * 35
    assert files == 6
    assert found == [
        f"b:2: '{x}4{x[1:]}' -> '{x}5{x[1:]}'",
        r"c:1: 'end\n' -> 'end'",
        "d: only in the old",
        "e: only in the new",
        r"f/g:1: '\\xff' -> '\\xfe'",
    ]
