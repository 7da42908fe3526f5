"""The shapes of requests and answers: a strict JSON reader, schemas and one fast check."""

from __future__ import annotations

from service.schemas.verdict import check

__all__ = ["check"]
