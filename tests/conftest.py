"""What all tests have in common."""

from __future__ import annotations

from hypothesis import settings

# How long an example takes says more of the machine than of the program.
settings.register_profile("patient", deadline=None)
settings.load_profile("patient")
