"""Templates to pages: everything is escaped, cleaned and undefined names are faults."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from bench.reports.visible_text import visible


def _cleaned(value: object) -> object:
    return visible(value) if isinstance(value, str) and not isinstance(value, Markup) else value


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("bench.reports", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_cleaned,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def page(template: str, **values: object) -> str:
    """Return a page.

    Parameters
    ----------
    template : str
        File name in the package's templates.
    **values : object
        What the template names.

    Returns
    -------
    str
        HTML. Every text in `values` that is not ours already is escaped and made visible on the way.
    """
    return _environment().get_template(template).render(values)
