"""The command line: parse, call, print. One file a command, loaded when it is asked for."""

from __future__ import annotations

from deerlog.cli.group import main

__all__ = ["main"]
