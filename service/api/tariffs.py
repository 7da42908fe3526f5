"""/v1/tariffs: named electricity and water tariffs, and their dated versions."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from flask import Response

from service.api.callers import MANAGE, READ
from service.api.dated import add_rows, fixed_by_rows, list_rows
from service.api.kept import FAILURES, Noun, routes
from service.api.routes import Blueprint, checked
from service.errors import Fault
from service.quoting.keeping import tariff_faults
from service.schemas.headers import Once
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


def _add(scope: Scope, one: Kept, rows: list[dict[str, Any]]) -> None:
    dated.versions.add(scope, [(one.id, row) for row in rows])


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


@blp.route("/<wanted>/versions", methods=["GET"])
@blp.doc(operationId="list_tariff_versions")
@blp.needs(READ)
@blp.response(200, Versions, description="All versions.")
@blp.fails(*FAILURES, 404)
def versions(wanted: str) -> Response:
    """Every version that a tariff had or will have, and when it became known."""
    return list_rows(kept.tariffs, dated.versions, wanted)


@blp.route("/<wanted>/versions", methods=["POST"])
@blp.doc(operationId="add_tariff_versions")
@blp.needs(MANAGE)
@blp.arguments(Once, location="headers")
@blp.arguments(AnyVersions, description="The versions.")
@blp.response(201, Versions, description="They are kept.")
@blp.fails(*FAILURES, 404, 409, 413, 415, 422)
def add_versions(document: object, wanted: str) -> Response:
    """Add versions. None is ever changed: one for a day that has one already corrects it from now on."""

    def read(
        scope: Scope, one: Kept, known: list[dict[str, Any]]
    ) -> tuple[list[dict[str, Any]], list[Fault]]:
        kind = one.body["kind"]
        rows = checked(document, NEW_VERSIONS[kind])["versions"]
        return rows, tariff_faults(kind, one.body, rows, known, datetime.now(UTC).date())

    return add_rows(kept.tariffs, dated.versions, wanted, document, read)
