"""A real browser, without a window; skipped where there is none, and CI refuses the skip."""

from __future__ import annotations

import importlib.util
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

_NAMES = ("chromium", "chromium-browser", "google-chrome")
PHONE = {"width": 390, "height": 844}


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """The system's Chromium, or the one MAINTAIN_TEST_BROWSER names."""
    if importlib.util.find_spec("playwright") is None:
        pytest.skip("playwright is not installed: pip install '.[browser]'")
    program = os.environ.get("MAINTAIN_TEST_BROWSER") or next(filter(None, map(shutil.which, _NAMES)), None)
    if program is None:
        pytest.skip("no Chromium: install it, or name one in MAINTAIN_TEST_BROWSER")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        # Chromium's own sandbox refuses root, as whom containers run; it opens our own file only.
        opened = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"])
        yield opened
        opened.close()


@pytest.fixture
def phone(browser: Any, tmp_path: Path) -> Iterator[Any]:
    """A phone's browser without network on the morning of the battle; an error of a script fails the test."""
    context = browser.new_context(
        viewport=PHONE, offline=True, accept_downloads=True, has_touch=True, timezone_id="Europe/Berlin"
    )
    context.clock.install(time="2026-05-30T09:00:00+02:00")
    trouble: list[str] = []
    context.on("weberror", lambda error: trouble.append(str(error.error)))
    context.on(
        "request", lambda request: None if request.url.startswith(("file:", "blob:")) else trouble.append(request.url)
    )
    yield context
    context.close()
    assert trouble == []
