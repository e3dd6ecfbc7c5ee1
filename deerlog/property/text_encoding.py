"""Bytes of a text file a person saved, from whatever program, to text."""

from __future__ import annotations

import codecs
from dataclasses import dataclass

from deerlog.errors import PropertyError

# The first bytes of files that often end up under a .csv or .toml name.
_NOT_TEXT = (
    (b"PK\x03\x04", "a spreadsheet workbook (or another zip archive)"),
    (b"\xd0\xcf\x11\xe0", "a spreadsheet workbook of the older kind"),
    (b"%PDF", "a PDF"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"\x89PNG", "a PNG picture"),
    (b"{\\rtf", "a word processor's rich text"),
)

_BOMS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


@dataclass(frozen=True, kw_only=True)
class DecodedText:
    """Text, and how it was written.

    Attributes
    ----------
    text
        Without the byte order mark.
    encoding
        ``utf-8``, ``utf-16-le``, ``utf-16-be`` or ``cp1252``: the codec that writes more text in
        the same form (none of them writes a byte order mark).
    bom
        The byte order mark the file begins with, or ``b""``.
    """

    text: str
    encoding: str
    bom: bytes


def decode_text(raw: bytes, *, where: str, instead: str) -> DecodedText:
    """Decode UTF-8 or UTF-16 (with or without byte order mark), else cp1252.

    cp1252 comes last because nearly any bytes pass as cp1252, while text in it that is not plain
    English practically never passes as UTF-8.

    Parameters
    ----------
    where, instead
        The file and what to do, for the error.

    Raises
    ------
    PropertyError
        The bytes are not text.
    """
    for start, name in _NOT_TEXT:
        if raw.startswith(start):
            raise PropertyError(f"this is {name}, not plain text.", where=where, how=instead)
    for bom, encoding in _BOMS:
        if raw.startswith(bom):
            tries, body = [encoding], raw[len(bom) :]
            break
    else:
        bom, body = b"", raw
        guess = _utf16_without_mark(raw)
        tries = [guess] if guess else ["utf-8", "cp1252"]
    for encoding in tries:
        try:
            text = body.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" in text:
            break
        # A program that saved an already marked file may have marked it twice.
        return DecodedText(text=text.lstrip("\ufeff"), encoding=encoding, bom=bom)
    raise PropertyError(
        "this is not plain text: it is damaged, or another kind of file under this name.",
        where=where,
        how=instead,
    )


def _utf16_without_mark(raw: bytes) -> str:
    """``utf-16-le`` or ``-be`` when every other byte is zero, as in English text; else ``""``."""
    sample = raw[:2000]
    if len(raw) % 2 or len(raw) < 4:
        return ""
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    half = len(sample) // 2
    if even == 0 and odd > 0.7 * half:
        return "utf-16-le"
    if odd == 0 and even > 0.7 * half:
        return "utf-16-be"
    return ""
