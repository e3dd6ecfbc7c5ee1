"""Bucks that run together: bachelor groups in summer, a doe in front in the rut."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np

from drawing.herd import BUCKS
from drawing.movement import CALENDAR, Event

_FRIENDS = {"Whisk": "Ladle", "Spindle": "Tongs", "Trowel": "Bellows"}
_TOGETHER = 0.3
_DOE_AHEAD = {"rut": 0.2, "pre-rut": 0.08}


def with_company(events: list[Event], rng: np.random.Generator) -> list[Event]:
    """The events of the named bucks, with those of the friends that came along."""
    around = {buck.name: set(buck.days_around()) for buck in BUCKS}
    out: list[Event] = []
    for event in events:
        day: date = (event.at - np.timedelta64(6, "h")).astype("datetime64[D]").item()
        phase = str(CALENDAR.phase_of(np.array([day], dtype="datetime64[D]"))[0])
        if rng.random() < _DOE_AHEAD.get(phase, 0.0):
            event = replace(event, others="doe", frames=min(event.frames + 1, 6))
        out.append(event)
        friend = _FRIENDS.get(event.buck, "")
        if friend and phase == "summer" and day in around[friend] and rng.random() < _TOGETHER:
            later = event.at + np.timedelta64(int(rng.integers(8, 200)), "s")
            out.append(replace(event, at=later, buck=friend, frames=int(rng.integers(1, 4))))
    return out
