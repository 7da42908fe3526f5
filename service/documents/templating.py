"""The templates of documents; whatever is put into one is escaped."""

from __future__ import annotations

from functools import lru_cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template


@lru_cache(maxsize=1)
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("service.documents"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True, auto_reload=False,
    )  # fmt: skip


def template(name: str) -> Template:
    """A template of `templates/`, compiled once."""
    return _environment().get_template(name)
