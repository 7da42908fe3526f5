"""/v1/tariffs: named electricity and water tariffs, and their dated versions."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from service.api.dated import Rows, fixed_by_rows, row_routes
from service.api.kept import Noun, routes
from service.api.routes import Blueprint, checked
from service.errors import Fault
from service.quoting.keeping import tariff_faults
from service.schemas.kept import (
    NEW_TARIFFS,
    NEW_VERSIONS,
    TARIFF_ANSWERS,
    TARIFFS,
    AnyVersions,
    TariffList,
    Versions,
    tagged_tariff,
)
from service.store import dated, kept
from service.store.kept import Kept
from service.store.scope import Scope


def _faults(scope: Scope, document: dict[str, Any]) -> list[Fault]:
    rows = document.get("versions", [])
    head = {key: value for key, value in document.items() if key != "versions"}
    return tariff_faults(document["kind"], head, rows, [], datetime.now(UTC).date())


def _add(scope: Scope, one: Kept, rows: Rows) -> None:
    dated.versions.add(scope, [(one.id, row) for row in rows])


def _read(document: object, one: Kept, known: Rows) -> tuple[Rows, list[Fault]]:
    kind = one.body["kind"]
    rows = checked(document, NEW_VERSIONS[kind])["versions"]
    return rows, tariff_faults(kind, one.body, rows, known, datetime.now(UTC).date())


TARIFF_NOUN = Noun(
    "tariffs", kept.tariffs, tagged_tariff("A tariff.", NEW_TARIFFS), tagged_tariff("A tariff.", TARIFFS),
    faults=_faults, apart={"versions": _add}, long=("holidays",),
    fixed=fixed_by_rows(dated.versions, "tariff", "kind", "currency"),
)  # fmt: skip
EXAMPLE = {
    "kind": "electricity",
    "name": "Shop tariff",
    "currency": "GBP",
    "versions": [{"from": "2026-10-01", "price": "0.2703"}],
}

blp = Blueprint("tariffs", __name__, url_prefix="/v1/tariffs", description="What electricity and water cost.")
routes(blp, TARIFF_NOUN, tagged_tariff("A tariff.", TARIFF_ANSWERS), TariffList, example=EXAMPLE,
       more=("list_tariff_versions", "add_tariff_versions"))  # fmt: skip


row_routes(
    blp, kept.tariffs, dated.versions, "versions", ("list_tariff_versions", "add_tariff_versions"),
    AnyVersions, Versions, _read,
)  # fmt: skip
