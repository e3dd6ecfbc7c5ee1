"""Identifiers that tell nothing, and stay the same from one export to the next."""

from __future__ import annotations

import hashlib

_BYTES = 8
"""Two of a million identifiers clash with a chance of one in thirty million: n^2 / 2^65."""


def identifier(kind: str, *parts: str) -> str:
    """A short identifier of what ``parts`` name, such as ``m-5e0c1f2a9b3d4c77``.

    It is the same on every machine. It hides a path or a camera's name from a reader; it is no
    secret from someone who can guess them.

    Parameters
    ----------
    kind
        One letter before the dash; things of two kinds never share an identifier.
    parts
        What names the thing among its kind.
    """
    # A separator that stands in no name, so that ("a", "bc") and ("ab", "c") differ.
    text = "\x1f".join((kind, *parts))
    return f"{kind}-{hashlib.blake2b(text.encode(), digest_size=_BYTES).hexdigest()}"
