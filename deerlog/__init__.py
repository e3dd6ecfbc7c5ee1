"""deerlog: which bucks live on a property, and which only pass through."""

__version__ = "0.1.0"
