"""A property opened for study: where what ingest keeps meets what analysis computes."""

from deerlog.study.study import PropertyStudy, open_study

__all__ = ["PropertyStudy", "open_study"]
