"""What a file is, by its first bytes; its name is never asked."""

from __future__ import annotations

JPEG = "jpeg"
MP4 = "mp4"
AVI = "avi"

# First bytes, and what to call the file when saying that it cannot be read.
_OTHERS = (
    (b"\x89PNG\r\n\x1a\n", "a PNG picture"),
    (b"GIF8", "a GIF picture"),
    (b"BM", "a BMP picture"),
    (b"II*\x00", "a TIFF or raw picture"),
    (b"MM\x00*", "a TIFF or raw picture"),
    (b"\x00\x00\x00\x0cJXL ", "a JPEG XL picture"),
    (b"\x00\x00\x01\xba", "an MPEG video without a time"),
    (b"\x00\x00\x01\xb3", "an MPEG video without a time"),
    (b"\x1aE\xdf\xa3", "a Matroska video without a time"),
    (b"0&\xb2u\x8ef\xcf\x11", "an ASF video without a time"),
    (b"PK\x03\x04", "a zip archive"),
    (b"%PDF", "a PDF"),
    (b"SQLite format 3", "a database"),
)
_STILL_BRANDS = frozenset({b"heic", b"heix", b"heim", b"heis", b"mif1", b"msf1", b"hevc"})
_FIRST_BOXES = frozenset({b"moov", b"mdat", b"wide", b"free", b"skip", b"pnot"})


def kind_of(head: bytes) -> str:
    """``JPEG``, ``MP4`` (also QuickTime) or ``AVI``; else words such as ``a PNG picture``.

    Parameters
    ----------
    head
        The first bytes of a file that is not empty; 16 are enough.
    """
    if head.startswith(b"\xff\xd8"):
        return JPEG
    if head[:4] == b"RIFF":
        form = head[8:12]
        if form == b"AVI ":
            return AVI
        return {b"WEBP": "a WebP picture", b"WAVE": "a sound"}.get(form, "not an image")
    if head[4:8] == b"ftyp":
        brand = head[8:12]
        if brand in _STILL_BRANDS:
            return "a HEIC picture"
        return "an AVIF picture" if brand in (b"avif", b"avis") else MP4
    if head[4:8] in _FIRST_BOXES:
        return MP4
    for start, words in _OTHERS:
        if head.startswith(start):
            return words
    if not head.strip(b"\x00"):
        return "nothing but zeros"
    return "not an image"
