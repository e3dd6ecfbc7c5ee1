"""The template engine of every page: escaping on, an unknown name an error."""

from __future__ import annotations

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup


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
