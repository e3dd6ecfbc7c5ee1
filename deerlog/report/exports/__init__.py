"""A study in open formats, for other programs and other people."""
