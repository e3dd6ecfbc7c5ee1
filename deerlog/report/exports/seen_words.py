"""What the words in the ``others`` column of tag sheets say, in the terms of Camtrap DP."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

WHITETAIL = "Odocoileus virginianus"


@dataclass(frozen=True)
class Seen:
    """One thing seen: values of the columns of the same names, ``""`` where not known."""

    type: str
    species: str = ""
    sex: str = ""
    life_stage: str = ""


_DOE = Seen("animal", WHITETAIL, sex="female")
_FAWN = Seen("animal", WHITETAIL, life_stage="juvenile")
_BUCK = Seen("animal", WHITETAIL, sex="male")
_PERSON = Seen("human", "Homo sapiens")
_VEHICLE = Seen("vehicle")
_BLANK = Seen("blank")

SEEN: Mapping[str, Seen] = {
    "doe": _DOE, "does": _DOE,
    "fawn": _FAWN, "fawns": _FAWN,
    "buck": _BUCK, "bucks": _BUCK, "young buck": _BUCK, "small buck": _BUCK, "spike": _BUCK,
    "deer": Seen("animal", WHITETAIL),
    "coyote": Seen("animal", "Canis latrans"), "coyotes": Seen("animal", "Canis latrans"),
    "raccoon": Seen("animal", "Procyon lotor"), "raccoons": Seen("animal", "Procyon lotor"),
    "opossum": Seen("animal", "Didelphis virginiana"),
    "bobcat": Seen("animal", "Lynx rufus"),
    "turkey": Seen("animal", "Meleagris gallopavo"),
    "turkeys": Seen("animal", "Meleagris gallopavo"),
    "squirrel": Seen("animal"), "rabbit": Seen("animal"), "fox": Seen("animal"),
    "bird": Seen("animal"), "birds": Seen("animal"), "dog": Seen("animal"), "cat": Seen("animal"),
    "person": _PERSON, "people": _PERSON, "me": _PERSON, "hunter": _PERSON,
    "vehicle": _VEHICLE, "truck": _VEHICLE, "tractor": _VEHICLE, "atv": _VEHICLE, "car": _VEHICLE,
    "empty": _BLANK, "nothing": _BLANK, "blank": _BLANK,
}  # fmt: skip
"""Words that are understood; our choice. Scientific names from memory, and none where a word means
several species. Any other word is passed on as a comment and not classified."""


def seen_words(others: str) -> list[tuple[str, Seen]]:
    """Each word of an ``others`` cell with what it says; ``empty`` only where it stands alone."""
    words = [word.strip() for word in re.split(r"[;,]", others) if word.strip()]
    each = [(word, SEEN.get(word.casefold(), Seen("unclassified"))) for word in words]
    each = list(dict.fromkeys(each))
    things = [pair for pair in each if pair[1] != _BLANK]
    return things or each[:1]
