"""What products, tariffs, routines and setups have in common: list, keep, read, change and delete."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from flask import Response

from service.api.callers import MANAGE, READ, caller, database, reads
from service.api.conditions import seen_version, tag_of, with_tag
from service.api.errors import Refusal
from service.api.leads import leads, to
from service.api.listing import as_page_of, asked_page
from service.api.once import Made, create, note, sent_before
from service.api.routes import JSON, Blueprint, Upload, View, as_json, checked, no_content
from service.errors import Fault, NotComputable
from service.schemas.fields import Strict
from service.schemas.headers import Once, Seen
from service.schemas.lists import NoQuery, SearchQuery
from service.schemas.nesting import Shape
from service.store.kept import Entry, Kept, Shelf
from service.store.scope import Scope
from service.store.text import composed, folded, like

FAILURES = (400, 401, 403, 406, 429, 500, 503)
Checks = Callable[[Scope, dict[str, Any]], list[Fault]]


@dataclass(frozen=True, slots=True)
class Noun:
    """One kind of kept thing: where it lies, what it looks like, and what else it needs."""

    name: str
    shelf: Shelf
    new: type[Shape] | Strict
    body: type[Shape] | Strict
    # Faults of meaning, beyond those of shape.
    faults: Checks
    # Faults of a change, in what other things that are kept were said of.
    fixed: Callable[[Scope, Kept, dict[str, Any]], list[Fault]] = lambda scope, before, document: []
    # Members of a new document that are kept apart, with what keeps them.
    apart: Mapping[str, Callable[[Scope, Kept, Any], None]] = field(default_factory=dict)
    # After every change of the thing itself.
    after: Callable[[Scope, Kept], None] = lambda scope, kept: None
    # Columns besides those that all kept things have.
    more: Callable[[dict[str, Any]], dict[str, Any]] = lambda document: {}
    # Members that lists leave out, since they are long.
    long: tuple[str, ...] = ()

    def entry(self, document: dict[str, Any]) -> Entry:
        """The document as it is kept."""
        name = document.get("name") or document.get("ref", "")
        body = composed({key: value for key, value in document.items() if key not in self.apart})
        return Entry(name, folded(name, document.get("sku")), body, bool(document.get("public")),
                     self.more(document))  # fmt: skip

    def shown(self, kept: Kept) -> dict[str, Any]:
        """A kept thing as it is answered."""
        return {
            "id": kept.id,
            "version": kept.version,
            "created_at": kept.created_at,
            "changed_at": kept.changed_at,
            **kept.body,
        }

    def listed(self, kept: Kept) -> dict[str, Any]:
        """A kept thing as lists answer it."""
        return {name: value for name, value in self.shown(kept).items() if name not in self.long}

    def keep(self, scope: Scope, documents: list[dict[str, Any]]) -> list[Kept]:
        """Keep documents whose shape and meaning are right."""
        made = self.shelf.add(scope, [self.entry(document) for document in documents])
        for kept, document in zip(made, documents, strict=True):
            for name, keep in self.apart.items():
                if document.get(name):
                    keep(scope, kept, document[name])
            self.after(scope, kept)
        return made


@dataclass(frozen=True, slots=True)
class Uploads:
    """Files of many things that are taken where one is; none, unless a kind of thing says otherwise."""

    takes: tuple[str, ...] = ()
    keep: Callable[[Upload, dict[str, Any]], Response] | None = None
    answer: type[Shape] | None = None
    query: type[Shape] = NoQuery
    summary: str = ""
    says: str = ""

    def documented(self, blp: Blueprint) -> Callable[[View], View]:
        """Document the answer to a file."""
        if self.answer is None:
            return lambda view: view
        decorator: Callable[[View], View] = blp.alt_response(
            200, schema=self.answer, description="The file is kept, all of it."
        )
        return decorator


def _only_files_ask(asked: dict[str, Any]) -> None:
    """The query is about files of many things."""
    if asked:
        raise Refusal(
            "bad-request",
            "The query is for files of many; leave it out for one document.",
            [{"parameter": name, "detail": f"'{name}' must be left out for one document."} for name in asked],
        )


def list_kept(noun: Noun, query: dict[str, Any]) -> Response:
    """One page of the things that the caller may see, oldest first."""
    page = asked_page(query)
    words = like(query["q"]) if query.get("q") else ""
    equal = {"folded_sku": folded(query["sku"])} if query.get("sku") else {}
    asks = caller()
    found = reads().read_within(
        asks.account_id,
        lambda scope: noun.shelf.page(scope, words=words, public=asks.publishable, equal=equal, **page),
    )
    return as_page_of(query, found.items, noun.listed, earlier=found.earlier, later=found.later)


def keep_one(noun: Noun, document: object) -> Response:
    """Keep a new thing: 201 with its address and ETag."""
    whole = checked(document, noun.new)
    before = sent_before(document)
    if before is not None:
        return before
    _sound(noun, whole)

    def work(scope: Scope) -> Made:
        kept = noun.keep(scope, [whole])[0]
        headers = {"Location": f"/v1/{noun.name}/{kept.id}", "ETag": tag_of(kept.version)}
        return Made(f"{noun.name}.add", kept.id, noun.shown(kept), headers=headers)

    return create(document, work)


def read_one(noun: Noun, id: str) -> Response:
    """One thing; 304 where the caller has it already."""
    asks = caller()
    kept = reads().read_within(
        asks.account_id, lambda scope: noun.shelf.get(scope, id, public=asks.publishable)
    )
    return with_tag(as_json(noun.shown(kept)), tag_of(kept.version))


def change_one(noun: Noun, id: str, document: object) -> Response:
    """Put a new document in the place of the version that the caller saw."""

    asks = caller().account_id
    seen = database().read_within(asks, lambda scope: seen_version(noun.shelf.get(scope, id).version))
    whole = checked(document, noun.body)
    _sound(noun, whole)

    def work(scope: Scope) -> Kept:
        faults = noun.fixed(scope, noun.shelf.get(scope, id), whole)
        if faults:
            raise NotComputable(faults)
        kept = noun.shelf.change(scope, id, seen, noun.entry(whole))
        noun.after(scope, kept)
        note(scope, f"{noun.name}.change", f"{id} {kept.version}")
        return kept

    kept = database().write_within(asks, work)
    return with_tag(as_json(noun.shown(kept)), tag_of(kept.version))


def _sound(noun: Noun, whole: dict[str, Any]) -> None:
    """NotComputable with the faults of meaning; looked for before the write, which others wait for."""
    faults = database().read_within(caller().account_id, lambda scope: noun.faults(scope, whole))
    if faults:
        raise NotComputable(faults)


def delete_one(noun: Noun, id: str) -> Response:
    """Take a thing out; what was issued with it stays as it is."""

    def work(scope: Scope) -> None:
        noun.shelf.delete(scope, id, seen_version(noun.shelf.get(scope, id).version))
        note(scope, f"{noun.name}.delete", id)

    database().write_within(caller().account_id, work)
    return no_content()


def routes(
    blp: Blueprint, noun: Noun, answer: Any, listed: type[Shape], query: type[Shape] = SearchQuery,
    example: dict[str, Any] | None = None, uploads: Uploads | None = None, more: tuple[str, ...] = (),
) -> None:  # fmt: skip
    """The routes of kept things, on a blueprint at /v1/<name>; `more` are other operations on one."""
    one = noun.shelf.noun
    document: dict[str, Any] = {"example": example} if example else {}
    files = uploads or Uploads()
    changed = (to(f"change_{one}", seen=True), to(f"delete_{one}", seen=True))
    further = tuple(to(operation) for operation in more)

    @blp.route("", methods=["GET"], endpoint=f"list_{noun.name}")
    @blp.doc(summary=f"The {noun.name} of the account, in the order in which they were first kept.",
             operationId=f"list_{noun.name}")  # fmt: skip
    @blp.needs(READ)
    @blp.arguments(query, location="query")
    @blp.response(200, listed, description="One page.")
    @blp.fails(*FAILURES)
    def listing(asked: dict[str, Any]) -> Response:
        return list_kept(noun, asked)

    @blp.route("", methods=["POST"], endpoint=f"add_{one}")
    @blp.doc(summary=f"Keep a {one}{files.summary}.", operationId=f"add_{one}")
    @blp.needs(MANAGE, takes=(JSON, *files.takes))
    @blp.arguments(files.query, location="query")
    @blp.arguments(Once, location="headers")
    @blp.arguments(noun.new, description=f"The {one}{files.says}.", **document)
    @blp.response(201, answer, description="It is kept.")
    @leads(201, to(f"read_{one}"), *changed, *further, tagged=True)
    @files.documented(blp)
    @blp.fails(*FAILURES, 409, 413, 415, 422)
    def adding(document: object, asked: dict[str, Any]) -> Response:
        if isinstance(document, Upload) and files.keep:
            return files.keep(document, asked)
        _only_files_ask(asked)
        return keep_one(noun, document)

    @blp.route("/<id>", methods=["GET"], endpoint=f"read_{one}")
    @blp.doc(summary=f"One {one}.", operationId=f"read_{one}")
    @blp.needs(READ)
    @blp.response(200, answer, description=f"The {one}.")
    @leads(200, *changed, *further, tagged=True)
    @blp.fails(*FAILURES, 404)
    def reading(id: str) -> Response:
        return read_one(noun, id)

    @blp.route("/<id>", methods=["PUT"], endpoint=f"change_{one}")
    @blp.doc(summary=f"Put a new document in the place of a {one}.", operationId=f"change_{one}")
    @blp.needs(MANAGE)
    @blp.arguments(noun.body, description=f"The {one} as it shall be.")
    @blp.arguments(Seen, location="headers")
    @blp.response(200, answer, description="It is changed.")
    @leads(200, *changed, tagged=True)
    @blp.fails(*FAILURES, 404, 409, 412, 413, 415, 422, 428)
    def changing(document: object, id: str) -> Response:
        return change_one(noun, id, document)

    @blp.route("/<id>", methods=["DELETE"], endpoint=f"delete_{one}")
    @blp.doc(summary=f"Take a {one} out. Quotes issued with it stay as they are.",
             operationId=f"delete_{one}")  # fmt: skip
    @blp.needs(MANAGE)
    @blp.arguments(Seen, location="headers")
    @blp.response(204, description="It is gone.")
    @blp.fails(*FAILURES, 404, 412, 428)
    def deleting(id: str) -> Response:
        return delete_one(noun, id)
