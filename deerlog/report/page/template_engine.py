"""The template engine of every page, and the rows its templates read."""

from __future__ import annotations

from typing import Any

import pandas as pd
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

Row = dict[str, Any]
"""One row of a frame, or a part of the page, by the names its template uses."""


def rows(frame: pd.DataFrame) -> list[Row]:
    """The rows of a frame as a template reads them: days as dates, what is missing as None."""
    days = frame.select_dtypes("datetime").columns
    plain = frame.astype(dict.fromkeys(days, object))
    for name in days:
        plain[name] = frame[name].dt.date
    plain = plain.astype(object)  # a column of days that are all missing has become times again
    return records(plain.where(plain.notna(), None))


def records(frame: pd.DataFrame) -> list[Row]:
    """The rows of a frame as they are."""
    return [dict(zip(frame.columns, cells, strict=True)) for cells in frame.itertuples(index=False)]


def page_templates() -> Environment:
    """An environment over ``templates/``; every text put into a page is escaped."""
    return Environment(
        loader=PackageLoader("deerlog.report.page", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def style_sheet(environment: Environment, *names: str) -> Markup:
    """Style sheets of ``templates/``, joined, to be written into a page as they are."""
    assert environment.loader is not None
    return Markup("".join(environment.loader.get_source(environment, name)[0] for name in names))
