"""Values out of a parsed property.toml, one by one, with everything wrong gathered."""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping, Sequence
from typing import Any

from deerlog.errors import PropertyError
from deerlog.property.zone_names import nearest_zone, zone_exists

# A day that every year has: 29 February would be no date in most.
_MONTH_LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


class SettingsValues:
    """The values of a file's keys.

    A value that cannot be used is remembered, a stand-in is returned, and `finish` raises.

    Parameters
    ----------
    data
        The parsed file.
    keys
        All keys there may be.
    file
        The file's name for messages.
    """

    def __init__(self, data: Mapping[str, Any], keys: Sequence[str], file: str) -> None:
        self._data = data
        self._keys = keys
        self._file = file
        self._faults: list[str] = []
        self.unknown_keys(data, keys, "")

    def finish(self) -> None:
        """Raise `PropertyError` with all that was wrong, if anything."""
        if not self._faults:
            return
        if len(self._faults) == 1:
            what = self._faults[0]
        else:
            listed = (f"({number}) {fault}" for number, fault in enumerate(self._faults, start=1))
            what = f"{len(self._faults)} settings cannot be used: {' '.join(listed)}"
        raise PropertyError(what, where=self._file, how="Correct the file and run again.")

    def text(self, key: str, default: str) -> str:
        """Text that is not blank."""
        value = self._data.get(key, default)
        if isinstance(value, str) and value.strip():
            return value
        self._fault(key, value, "text in quotation marks")
        return default

    def number(self, key: str, low: float, high: float, default: float | None = None) -> float:
        """A number from low to high; needed where there is no default."""
        return self._number(key, self._data.get(key, default), low, high)

    def whole(self, key: str, low: int, high: int, default: int) -> int:
        """A whole number from low to high."""
        value = self._data.get(key, default)
        if isinstance(value, int) and not isinstance(value, bool) and low <= value <= high:
            return value
        self._fault(key, value, f"a whole number from {low} to {high}")
        return default

    def choice(self, key: str, choices: Sequence[str], default: str) -> str:
        """One of a few words, in any case."""
        value = self._data.get(key, default)
        word = value.strip().casefold() if isinstance(value, str) else None
        for choice in choices:
            if word == choice.casefold():
                return choice
        self._fault(key, value, "one of " + ", ".join(f'"{choice}"' for choice in choices))
        return default

    def month_day(self, key: str, default: tuple[int, int]) -> tuple[int, int]:
        """(month, day) of ``"MM-DD"``."""
        if key not in self._data:
            return default
        return self._month_day(key, self._data[key]) or default

    def zone(self, key: str) -> str:
        """An IANA time zone; needed."""
        value = self._data.get(key)
        if isinstance(value, str) and zone_exists(value):
            return value
        near = nearest_zone(value) if isinstance(value, str) else None
        advice = f' Did you mean "{near}"?' if near else ""
        self._fault(key, value, 'an IANA name such as "America/Chicago"', advice)
        return "UTC"

    def seasons(self, key: str) -> list[tuple[str, tuple[int, int], tuple[int, int]]]:
        """Name, opening and closing day of each table under ``[[key]]``."""
        tables = self._data.get(key, [])
        if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
            self._fault(key, tables, f"a [[{key}]] table for each season")
            return []
        seasons = []
        for number, table in enumerate(tables, start=1):
            prefix = f"{key}[{number}]."
            self.unknown_keys(table, ("name", "opens", "closes"), prefix)
            name = table.get("name")
            if not isinstance(name, str) or not name.strip():
                self._fault(f"{prefix}name", name, "text in quotation marks")
                name = None
            opens = self._month_day(f"{prefix}opens", table.get("opens"))
            closes = self._month_day(f"{prefix}closes", table.get("closes"))
            if name and opens and closes:
                seasons.append((name, opens, closes))
        return seasons

    def rates(self, key: str) -> dict[str, float]:
        """The names and numbers of the table ``[key]``."""
        table = self._data.get(key, {})
        if not isinstance(table, dict):
            self._fault(key, table, f"a [{key}] table of names and numbers")
            return {}
        return {
            name: self._number(f"{key}.{name}", value, -math.inf, math.inf)
            for name, value in table.items()
        }

    def rules(self, key: str) -> dict[str, float | bool]:
        """The names of the table ``[key]``, each with ``true``, ``false`` or a number."""
        table = self._data.get(key, {})
        if not isinstance(table, dict):
            self._fault(key, table, f"a [{key}] table of names with true, false or a number")
            return {}
        found: dict[str, float | bool] = {}
        for name, value in table.items():
            if isinstance(value, bool):
                found[name] = value
            elif isinstance(value, int | float):
                found[name] = self._number(f"{key}.{name}", value, -math.inf, math.inf)
            else:
                wanted = "true, false or a number, without quotation marks"
                self._fault(f"{key}.{name}", value, wanted)
        return found

    def unknown_keys(self, table: Mapping[str, Any], keys: Sequence[str], prefix: str) -> None:
        """Remember the keys of a table that mean nothing there."""
        for key, value in table.items():
            if key in keys:
                continue
            if prefix and key in self._keys:
                advice = f"move it above the first [[{prefix.partition('[')[0]}]] line."
            elif near := difflib.get_close_matches(key.casefold(), keys, n=1, cutoff=0.6):
                advice = f"did you mean {prefix}{near[0]}?"
            else:
                advice = f"remove it. The keys are: {', '.join(keys)}."
            shown = "a table" if isinstance(value, dict | list) else _shown(value)
            self._faults.append(f"{prefix}{key} = {shown}: there is no such setting; {advice}")

    def _number(self, key: str, value: object, low: float, high: float) -> float:
        if isinstance(value, int | float) and not isinstance(value, bool) and low <= value <= high:
            try:
                number = float(value)
            except OverflowError:
                number = math.inf
            if math.isfinite(number):
                return number
        bounds = f" from {low:g} to {high:g}" if math.isfinite(low) else ""
        self._fault(key, value, f"a number{bounds}, without quotation marks")
        return max(low, 0.0)

    def _month_day(self, key: str, value: object) -> tuple[int, int] | None:
        parts = value.strip().split("-") if isinstance(value, str) else []
        if len(parts) == 2 and all(p.isascii() and p.isdigit() and len(p) <= 2 for p in parts):
            month, day = int(parts[0]), int(parts[1])
            if 1 <= month <= 12 and 1 <= day <= _MONTH_LENGTHS[month - 1]:
                return month, day
        self._fault(
            key, value, '"MM-DD", month and day in quotation marks, a day that every year has'
        )
        return None

    def _fault(self, key: str, value: object, wanted: str, advice: str = "") -> None:
        if value is None:
            self._faults.append(f"{key} is missing; it must be {wanted}.")
        else:
            self._faults.append(
                f"{key} = {_shown(value)} cannot be used: it must be {wanted}.{advice}"
            )


def _shown(value: object) -> str:
    """A value about as it stands in the file, shortened."""
    if isinstance(value, bool):
        return str(value).lower()
    text = f'"{value}"' if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."
