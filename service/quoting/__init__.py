"""The shell around the engine: read a request, run the engine, write the answer."""

from service.quoting.costing import cost

__all__ = ["cost"]
