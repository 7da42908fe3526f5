"""Reads a PDF back by Poppler's pdftotext, where it is installed."""

from __future__ import annotations

import os
import shutil
import subprocess

import pytest

TOOL = "pdftotext"
# Where the environment says that it must be there, a test that lacks it fails rather than skips.
_LACKING = shutil.which(TOOL) is None and TOOL not in os.environ.get("LITREWISE_TEST_NEEDS", "").split()
needs_pdftotext = pytest.mark.skipif(_LACKING, reason="pdftotext is not installed")


def text_of(pdf: bytes, order: str = "layout") -> str:
    """The text of a PDF, laid out as on the sheet, or `raw`, cell by cell; pages end with a form feed."""
    command = [TOOL, f"-{order}", "-enc", "UTF-8", "-", "-"]
    found = subprocess.run(command, input=pdf, capture_output=True, check=True)
    return found.stdout.decode()
