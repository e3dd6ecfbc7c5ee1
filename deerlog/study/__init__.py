"""A property opened for study: where what ingest keeps meets what analysis computes."""

from deerlog.study.study import Study, open_study

__all__ = ["Study", "open_study"]
