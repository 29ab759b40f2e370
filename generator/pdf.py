"""The dossier on paper: a browser that is there prints it, since browsers keep equations as they are."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

BROWSERS = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "microsoft-edge",
    "chrome",
)
"""Programs that print a page from the command line in the same way."""
SECONDS = 600
"""How long a print may take: a thousand pages on a slow machine."""


class PdfError(RuntimeError):
    """The PDF was not made; the message says why and what to do."""


def find_browser() -> str | None:
    """The first of BROWSERS that is on the path, or None."""
    return next((found for name in BROWSERS if (found := shutil.which(name))), None)


def print_pdf(page: Path, target: Path) -> None:
    """Print the file `page` as `target`. PdfError where no browser is there, or it fails.

    The size of the sheet is the one that the browser is set to; nothing is loaded from anywhere.
    """
    browser = find_browser()
    if browser is None:
        raise PdfError(
            "no PDF was made: no Chromium is installed here (Debian: apt-get install chromium). "
            f"{page} is whole without it; any browser prints it"
        )
    with tempfile.TemporaryDirectory(prefix="marginbook-", ignore_cleanup_errors=True) as profile:
        made = Path(profile) / "made.pdf"
        try:
            done = subprocess.run(
                [*_command(browser, profile), f"--print-to-pdf={made}", page.resolve().as_uri()],
                capture_output=True,
                timeout=SECONDS,
                check=False,
            )
        except subprocess.TimeoutExpired:
            raise PdfError(f"no PDF was made: {browser} took over {SECONDS} s") from None
        if done.returncode or not made.is_file():
            raise PdfError(
                f"no PDF was made: {browser} ended with {done.returncode}; open {page} and print it"
            )
        shutil.move(made, target)


def _command(browser: str, profile: str) -> list[str]:
    """How to call it: no window, no profile of anybody's, no network."""
    command = [
        browser,
        "--headless",
        "--disable-gpu",
        "--no-first-run",
        "--no-pdf-header-footer",
        "--generate-pdf-document-outline",
        "--host-resolver-rules=MAP * ~NOTFOUND",
        f"--user-data-dir={profile}",
    ]
    root = hasattr(os, "geteuid") and os.geteuid() == 0
    return [*command, "--no-sandbox"] if root else command  # it refuses to run as root otherwise
