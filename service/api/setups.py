"""/v1/setups: the catalogue of tank packages."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from service.api.imports import keep_catalogue
from service.api.kept import Noun, Uploads, routes
from service.api.routes import CSV, NDJSON, Blueprint
from service.errors import Fault
from service.quoting.keeping import setup_faults
from service.quoting.stock import Stock
from service.schemas.import_columns import SETUP_COLUMNS
from service.schemas.imports import CatalogueKept, CatalogueQuery
from service.schemas.kept import KeptSetup, SetupAnswer, SetupList
from service.schemas.lists import SetupQuery
from service.store import kept
from service.store.scope import Scope
from service.store.text import folded


def _faults(scope: Scope, document: dict[str, Any]) -> list[Fault]:
    today = datetime.now(UTC).date()
    return setup_faults(document, Stock(scope, today, public=False), today)


SETUPS = Noun(
    "setups", kept.setups, KeptSetup, KeptSetup, faults=_faults,
    more=lambda document: {"folded_sku": folded(document["sku"]) if document.get("sku") else None},
    long=("lines", "devices", "measured", "routine"),
)  # fmt: skip

CATALOGUES = Uploads(
    (NDJSON, CSV),
    lambda sent, asked: keep_catalogue(SETUPS, sent, replacing="existing" in asked),
    CatalogueKept, CatalogueQuery,
    summary=", or a catalogue of many",
    says=f"; as NDJSON, one setup a line; as CSV, one a row with a header of ref and any of the columns "
    f"{', '.join(name for name in SETUP_COLUMNS if name != 'ref')}",
)  # fmt: skip

blp = Blueprint("setups", __name__, url_prefix="/v1/setups", description="The catalogue of tank packages.")
routes(blp, SETUPS, SetupAnswer, SetupList, query=SetupQuery, uploads=CATALOGUES,
       more=("compare_setup",))  # fmt: skip
