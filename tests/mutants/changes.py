"""Every single change that can be made to a source: one token becomes another."""

from __future__ import annotations

import ast
import io
import keyword
import tokenize
from dataclasses import dataclass

OPERATORS = {"+": "-", "-": "+", "*": "/", "/": "*", "//": "/", "%": "*", "**": "*"}
OPERATORS |= {"+=": "-=", "-=": "+=", "*=": "/=", "/=": "*=", "&=": "|=", "|=": "&="}
OPERATORS |= {"&": "|", "|": "&", "and": "or", "or": "and", "==": "!=", "!=": "=="}
JOINING = {before: (after,) for before, after in OPERATORS.items()}
JOINING |= {"<": ("<=", ">"), "<=": ("<", ">="), ">": (">=", "<"), ">=": (">", "<=")}
SWAPS = {"min": "max", "minimum": "maximum", "argmin": "argmax", "idxmin": "idxmax"}
SWAPS |= {"nanmin": "nanmax", "cummin": "cummax"}
SWAPS |= {after: before for before, after in SWAPS.items()}
"""Operators and functions, and what each can become."""

Place = tuple[int, int]
"""Line from 1, and the character in it from 0."""


@dataclass(frozen=True, order=True)
class Change:
    """One token of one file, and what stands in its place."""

    path: str
    line: int
    start: int
    token: str
    new: str

    def applied(self, source: str) -> str:
        """The source with the change made."""
        lines = source.splitlines(keepends=True)
        row = lines[self.line - 1]
        assert row.startswith(self.token, self.start)
        lines[self.line - 1] = row[: self.start] + self.new + row[self.start + len(self.token) :]
        return "".join(lines)

    def shown(self, source: str) -> tuple[str, str]:
        """The line before and after, without its indent."""
        before, after = (
            s.splitlines()[self.line - 1].strip() for s in (source, self.applied(source))
        )
        return before, after


def possible_changes(source: str, path: str = "") -> list[list[Change]]:
    """Every token that can be changed, in order, each with what it can become.

    Left alone: all texts with what f-strings compute, type annotations, decorators, and what is
    imported for types only.
    """
    words = [
        t
        for t in tokenize.generate_tokens(io.StringIO(source).readline)
        if t.type in (tokenize.NAME, tokenize.OP, tokenize.NUMBER, tokenize.STRING)
    ]
    left_alone = _left_alone(source)
    found, loops = [], 0
    for before, word, after in zip(
        [words[0], *words], words, [*words[1:], words[-1]], strict=False
    ):
        loops += word.string == "for"
        if word.string == "in" and loops:
            loops -= 1
            continue
        # Between two values an operator joins them; behind anything else it is a sign or a star.
        is_text = before.type == tokenize.STRING
        is_value = before.string in (")", "]", "}", "None", "True", "False") or (
            before.type in (tokenize.NAME, tokenize.NUMBER) and not keyword.iskeyword(before.string)
        )
        becomes: tuple[str, ...] = ()
        if word.type == tokenize.NUMBER:
            becomes = _other_numbers(ast.literal_eval(word.string))
        elif word.string == "not" or (word.string in ("~", "-") and not (is_value or is_text)):
            becomes = ("",)
        elif word.string in ("is", "in") and "not" not in (before.string, after.string):
            becomes = ("is not" if word.string == "is" else "not in",)
        elif word.string in SWAPS and after.string == "(":
            becomes = (SWAPS[word.string],)
        elif word.string in ("+", "%", "*") and tokenize.STRING in (before.type, after.type):
            continue
        elif (is_value or is_text) and word.string in JOINING:
            becomes = JOINING[word.string]
        if not any(first <= word.start < end for first, end in left_alone):
            found.append([Change(path, *word.start, word.string, new) for new in becomes])
    return [ways for ways in found if ways]


def _left_alone(source: str) -> list[tuple[Place, Place]]:
    """Stretches of a source in which nothing is changed, half-open."""
    tree = ast.parse(source)
    nodes: list[ast.AST | None] = []
    for node in ast.walk(tree):
        nodes += [getattr(node, "annotation", None), getattr(node, "returns", None)]
        nodes += getattr(node, "decorator_list", [])
        nodes += [node] if isinstance(node, ast.JoinedStr) else []
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            nodes.append(node)
    for node in tree.body:  # at the top a bar joins types, a plus lists of columns
        if isinstance(node, ast.Assign) and isinstance(value := node.value, ast.BinOp):
            joins = isinstance(value.op, ast.BitOr) or isinstance(value.right, ast.Tuple | ast.List)
            nodes += [node] if joins else []
    lines = source.splitlines()

    def place(line: int, n_bytes: int) -> Place:
        return line, len(lines[line - 1].encode()[:n_bytes].decode())

    return [
        (place(n.lineno, n.col_offset), place(n.end_lineno, n.end_col_offset))
        for n in nodes
        if n is not None
    ]


def _other_numbers(value: float) -> tuple[str, ...]:
    """One more or less of a small whole number; twice or half of any other."""
    if isinstance(value, int) and value < 10:
        return (str(value + 1), str(value - 1)) if value else ("1",)
    if not value:
        return ("1.0",)
    return (str(value * 2), str(value // 2 if isinstance(value, int) else value / 2))
