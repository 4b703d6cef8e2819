"""A real browser, an accessibility checker and an HTML validator for the page tests.

Chromium is Debian's (`apt-get install chromium`) or the one named in FIXPLAN_CHROMIUM; axe-core and html-validate
come from the npm registry by `npm ci` in this folder. Nothing is skipped when one is missing: the tests fail and say
what to do.
"""

from __future__ import annotations

import json
import os
import runpy
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

HERE = Path(__file__).parent
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def _node_module(name: str) -> Path:
    path = HERE / "node_modules" / name
    if not path.exists():
        pytest.fail(f"{name} is not installed: run 'npm ci' in {HERE.relative_to(HERE.parents[1])}", pytrace=False)
    return path


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One headless Chromium for the whole run."""
    path = os.environ.get("FIXPLAN_CHROMIUM") or shutil.which("chromium")
    if path is None:
        pytest.fail("no chromium found: install Debian's, or name one in FIXPLAN_CHROMIUM", pytrace=False)
    with sync_playwright() as p:
        running = p.chromium.launch(executable_path=path, args=FLAGS)
        yield running
        running.close()


@pytest.fixture
def open_page(browser: Browser, tmp_path: Path) -> Iterator[Callable[..., Page]]:
    """open_page(html, width=1200) -> a page that shows it; `page.requests` lists every address it asked for."""
    contexts = []

    def show(html: str, width: int = 1200, **options: Any) -> Page:
        file = tmp_path / f"page-{len(contexts)}.html"
        file.write_text(html, encoding="utf-8")
        context = browser.new_context(viewport={"width": width, "height": 900}, bypass_csp=True, **options)
        contexts.append(context)
        page = context.new_page()
        page.asked_for = []  # type: ignore[attr-defined]
        page.on("request", lambda r: page.asked_for.append(r.url))  # type: ignore[attr-defined]
        page.goto(file.as_uri())
        return page

    yield show
    for context in contexts:
        context.close()


@pytest.fixture(scope="session")
def axe() -> Callable[[Page], list[str]]:
    """axe(page) -> what axe-core finds against it, one line for each node."""
    script = (_node_module("axe-core") / "axe.min.js").read_text(encoding="utf-8")

    def check(page: Page) -> list[str]:
        page.evaluate(script)
        found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        return [f"{v['id']}: {v['help']}: {n['html'][:160]}" for v in found["violations"] for n in v["nodes"]]

    return check


@pytest.fixture(scope="session")
def validate() -> Callable[[dict[str, str], Path], list[str]]:
    """validate({name: html}, folder) -> what html-validate finds against them, one line for each message."""
    _node_module("html-validate")

    def check(pages: dict[str, str], folder: Path) -> list[str]:
        for name, html in pages.items():
            (folder / f"{name}.html").write_text(html, encoding="utf-8")
        report_file = folder / "messages.json"  # a pipe would be cut short when the validator exits
        command = ["npx", "--no-install", "html-validate", "-c", ".htmlvalidate.json", "--formatter"]
        done = subprocess.run(
            [*command, f"json={report_file}", *(str(folder / f"{n}.html") for n in pages)],
            cwd=HERE,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode in (0, 1), done.stderr
        return [
            f"{Path(report['filePath']).stem}:{m['line']}: {m['ruleId']}: {m['message']}"
            for report in json.loads(report_file.read_text(encoding="utf-8"))
            for m in report["messages"]
        ]

    return check


@pytest.fixture(scope="session")
def samples() -> dict[str, Any]:
    """The sample plans by name (invented numbers)."""
    return dict(runpy.run_path(str(HERE / "sample_plan.py"))["SAMPLES"])
