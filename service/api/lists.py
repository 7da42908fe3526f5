"""Reference lists: units, currencies, drivers and categories, the same for everybody."""

from __future__ import annotations

from functools import lru_cache

import orjson
from flask import Response

from service.api.routes import Blueprint, as_json
from service.engine.drivers import DRIVERS
from service.engine.supply import CATEGORIES
from service.engine.units import ALIASES, UNITS
from service.parameters import currencies as known_currencies
from service.quoting.values import written
from service.schemas.reference import Categories, Currencies, Drivers, Units

blp = Blueprint("lists", __name__, url_prefix="/v1", description="What codes and names there are.")


@blp.route("/units")
@blp.needs("open")
@blp.response(200, Units, description="All units.")
@blp.fails(400, 406, 500)
def units() -> Response:
    """The units that quantities may be given in."""
    return as_json(_units(), cached=True)


@blp.route("/currencies")
@blp.needs("open")
@blp.response(200, Currencies, description="All currencies.")
@blp.fails(400, 406, 500)
def currencies() -> Response:
    """The currencies of ISO 4217 that have a minor unit."""
    return as_json(_currencies(), cached=True)


@blp.route("/drivers")
@blp.needs("open")
@blp.response(200, Drivers, description="All drivers.")
@blp.fails(400, 406, 500)
def drivers() -> Response:
    """What makes lines be used, for usage.driver and share.driver."""
    return as_json(_drivers(), cached=True)


@blp.route("/categories")
@blp.needs("open")
@blp.response(200, Categories, description="All categories.")
@blp.fails(400, 406, 500)
def categories() -> Response:
    """The categories that lines are summed by."""
    return as_json(orjson.dumps({"categories": list(CATEGORIES)}), cached=True)


@lru_cache(maxsize=1)
def _units() -> bytes:
    rows = [
        {
            "code": unit.code,
            "name": unit.name,
            "dimension": unit.dimension,
            "factor": written(unit.factor, most=20),
            "offset": written(unit.offset, most=20),
            "ucum": unit.ucum,
            "aliases": [alias for alias, code in ALIASES.items() if code == unit.code],
        }
        for unit in UNITS.values()
    ]
    return orjson.dumps({"units": rows})


@lru_cache(maxsize=1)
def _currencies() -> bytes:
    rows = [
        {
            "code": currency.code,
            "name": currency.name,
            "digits": currency.digits,
            "valid_until": currency.valid_until and currency.valid_until.isoformat(),
        }
        for currency in known_currencies().values()
    ]
    return orjson.dumps({"currencies": rows})


@lru_cache(maxsize=1)
def _drivers() -> bytes:
    rows = [{"name": name, "unit": unit, "text": text} for name, (unit, text) in DRIVERS.items()]
    return orjson.dumps({"drivers": rows})
