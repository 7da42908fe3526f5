"""`litrewise openapi`: the document that describes the service, and the files made from the code."""

from __future__ import annotations

import json
import sys
from typing import Any

from service.cli import EXIT_FAILED, EXIT_OK
from service.cli.files import PACKAGE


def run(*, write: bool) -> int:
    """Print the document, or bring the two committed files in line with the code."""
    from service.api.document import openapi

    if not write:
        sys.stdout.write(_text(openapi()))
        return EXIT_OK
    from service.schemas.openapi import request_schema
    from service.schemas.verdict import SCHEMA_FILE

    document = PACKAGE.parent / "openapi" / "openapi.json"
    if not document.parent.is_dir():
        print("litrewise: --write works in the source tree only (no folder openapi/ here).", file=sys.stderr)
        return EXIT_FAILED
    texts = {PACKAGE / "schemas" / SCHEMA_FILE: _text(request_schema()), document: _text(openapi())}
    for path, text in texts.items():
        path.write_text(text, encoding="utf-8")
        print(f"wrote {path.relative_to(PACKAGE.parent)}")
    return EXIT_OK


def _text(content: dict[str, Any]) -> str:
    """The same bytes for the same content, in an order that makes small diffs."""
    return json.dumps(content, indent=2, sort_keys=True, ensure_ascii=False) + "\n"
