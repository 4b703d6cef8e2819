"""The validation page in a real browser: valid HTML (html-validate), accessible (axe-core, WCAG 2), self-contained,
no sideways scrolling of the page at 320 CSS px (WCAG 2.1, 1.4.10).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page

from fixplan.report.validation_html import render_validation
from fixplan.validation.collect import validation


@pytest.fixture(scope="module")
def html() -> str:
    return render_validation(validation())


def test_valid(html: str, validate: Callable[[dict[str, str], Path], list[str]], tmp_path: Path) -> None:
    assert validate({"validation": html}, tmp_path) == []


def test_accessible_and_alone(html: str, open_page: Callable[..., Page], axe: Callable[[Page], list[str]]) -> None:
    page = open_page(html)
    assert axe(page) == []
    assert len(page.asked_for) == 1  # type: ignore[attr-defined]
    assert page.locator("script").count() == 0


def test_narrow(html: str, open_page: Callable[..., Page]) -> None:
    page = open_page(html, width=320)
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
