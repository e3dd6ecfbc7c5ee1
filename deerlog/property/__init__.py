"""The property folder: settings and tables the user owns, read and validated."""

from deerlog.property.property import Property, find_property, open_property
from deerlog.property.settings import HuntingSeason, Settings
from deerlog.property.start import start_property

__all__ = [
    "HuntingSeason",
    "Property",
    "Settings",
    "find_property",
    "open_property",
    "start_property",
]
