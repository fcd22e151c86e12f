"""A headless Chromium, where there is one: pages to PDF, to PNG, to what became of their elements."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

import pytest

REQUIRED = "required"


def chromium() -> str:
    """Its path. Skips the test where there is none, unless TRUETHROW_TEST_CHROMIUM is "required"."""
    for name in ("chromium", "chromium-browser", "google-chrome"):
        found = shutil.which(name)
        if found:
            return found
    if os.environ.get("TRUETHROW_TEST_CHROMIUM") == REQUIRED:
        pytest.fail("no Chromium found, and TRUETHROW_TEST_CHROMIUM says that one is required")
    pytest.skip("no Chromium found (chromium, chromium-browser, google-chrome)")


def run(*arguments: str) -> bytes:
    """What Chromium prints, in a profile of its own and without a network."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        done = subprocess.run(
            [
                chromium(),
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--disable-quic",
                "--disable-dev-shm-usage",
                "--no-first-run",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
                f"--user-data-dir={profile}",
                *arguments,
            ],
            capture_output=True,
            timeout=300,
            check=True,
        )
    return done.stdout


def to_pdf(page: Path, pdf: Path) -> bytes:
    run(f"--print-to-pdf={pdf}", "--no-pdf-header-footer", page.as_uri())
    return pdf.read_bytes()


def to_png(page: Path, png: Path, wide: int, high: int) -> None:
    run(f"--screenshot={png}", f"--window-size={wide},{high}", page.as_uri())


def dom(page: Path) -> str:
    return run("--dump-dom", page.as_uri()).decode("utf-8", errors="replace")
