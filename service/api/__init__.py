"""The HTTP door: one Flask application, blueprints by noun, one place for errors."""

from __future__ import annotations

from service.api.app import create_app

__all__ = ["create_app"]
