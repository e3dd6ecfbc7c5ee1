"""From a study to what the page shows: rows picked and put in order, nothing worked out."""

from __future__ import annotations

from deerlog.report.contents.page_of_study import page_of_study

__all__ = ["page_of_study"]
