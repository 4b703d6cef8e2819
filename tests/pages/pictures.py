"""Makes the README's pictures from the committed reports: `uv run python tests/pages/pictures.py`.

First printed page of a plan, of the theatre list and of a pick list by Debian's pdftoppm; the top of the comparison and
an opened question as they stand on a screen.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).parents[2]
REPORTS = ROOT / "reports"
FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-sync"]
PRINTED = {
    "plan-first-page": "demo/DEMO-5A-plan.html",
    "theatre-list": "demo/theatre-list.html",
}
DPI = 75


def first_sheet(page: Page, source: Path, target: Path) -> None:
    """The first A4 sheet of a page as a PNG."""
    page.goto(source.as_uri())
    with tempfile.TemporaryDirectory() as folder:
        pdf = Path(folder) / "page.pdf"
        page.pdf(path=pdf, format="A4", print_background=True)
        one = ["-f", "1", "-l", "1", "-singlefile"]
        subprocess.run(["pdftoppm", "-r", str(DPI), "-png", *one, str(pdf), str(target.with_suffix(""))], check=True)


def screen(page: Page, source: Path, target: Path, select: str) -> None:
    """One part of a page as it stands on a screen, every <details> in it opened."""
    page.goto(source.as_uri())
    page.evaluate("document.querySelectorAll('details').forEach((d, i) => { d.open = i < 400; })")
    page.locator(select).first.screenshot(path=target)


def main() -> None:
    with sync_playwright() as p:
        path = os.environ.get("FIXPLAN_CHROMIUM") or shutil.which("chromium")
        browser = p.chromium.launch(executable_path=path, args=FLAGS)
        page = browser.new_page(viewport={"width": 900, "height": 1000})
        for name, source in PRINTED.items():
            first_sheet(page, REPORTS / source, REPORTS / f"{name}.png")
        screen(page, REPORTS / "demo/DEMO-5A-plan.html", REPORTS / "why.png", "section:has(> #questions-title)")
        screen(page, REPORTS / "demo/DEMO-5A-compare.html", REPORTS / "compare.png", "main table")
        browser.close()


if __name__ == "__main__":
    main()
