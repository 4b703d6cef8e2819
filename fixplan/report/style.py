"""The page's frame: the template environment, the shared style sheet and the policy that forbids everything else."""

from __future__ import annotations

import base64
import functools
import hashlib
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from fixplan.report.formats import filters, visible

TEMPLATES = Path(__file__).parent / "templates"


def _finalize(value: Any) -> Any:
    """Write out control and direction-changing characters of any text that is not our own markup."""
    return visible(value) if isinstance(value, str) and not isinstance(value, Markup) else value


@functools.cache
def environment() -> Environment:
    """Templates with escaping on and no silent blanks; an undefined name is an error."""
    env = Environment(
        loader=FileSystemLoader(TEMPLATES, encoding="utf-8"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_finalize,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    env.filters.update(filters())
    return env


@functools.cache
def stylesheet(*names: str) -> Markup:
    """The style sheet `base.css.j2` followed by the named ones, to stand inside one style element.

    The content is our own file, so it is not escaped; it may not hold a closing tag.
    """
    text = "".join(environment().get_template(n).render() for n in ("base.css.j2", *names))
    if "</" in text:
        raise ValueError("a style sheet holds '</', which would end the style element: remove it")
    return Markup(text)


def content_policy(css: str) -> str:
    """A content security policy that allows exactly this style sheet: no script, no request, no inline style.

    Source: W3C Content Security Policy Level 3, hash sources (sha256 of the element's text, base64).
    """
    digest = base64.b64encode(hashlib.sha256(css.encode("utf-8")).digest()).decode("ascii")
    return f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
