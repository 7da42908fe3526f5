"""How apispec turns our shapes and fields into JSON Schema."""

from __future__ import annotations

import inspect
from typing import Any

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin, OpenAPIConverter
from marshmallow import fields

from service.schemas.fields import Strict
from service.schemas.nesting import Shape

OPENAPI_VERSION = "3.1.0"


class Converter(OpenAPIConverter):
    """apispec's converter, which otherwise drops `additionalProperties` beside a description."""

    def resolve_nested_schema(self, schema: Any) -> Any:
        """A reference to a shape; a body may also be a field of ours, such as one of several shapes."""
        if isinstance(schema, Strict):
            return self.field2property(schema)
        return super().resolve_nested_schema(schema)

    def schema2jsonschema(self, schema: Any) -> dict[str, Any]:
        shape = schema() if isinstance(schema, type) else schema
        made: dict[str, Any] = self.fields2jsonschema(shape.fields)
        made["additionalProperties"] = False
        if shape.__doc__:
            made["description"] = inspect.cleandoc(shape.__doc__)
        if isinstance(shape, Shape):
            groups = [
                *({"oneOf": _any_given(group)} for group in shape.exactly_one),
                *({"anyOf": _any_given(group)} for group in shape.at_least_one),
            ]
            if groups:
                made["allOf"] = groups
        return made


def _any_given(names: tuple[str, ...]) -> list[dict[str, Any]]:
    return [{"required": [name]} for name in names]


def strict_to_schema(self: Converter, field: fields.Field[Any], **_: Any) -> dict[str, Any]:
    """What our own fields say of themselves; bound to the converter by apispec."""
    if not isinstance(field, Strict):
        return {}
    made = field.json_schema(self)
    if not field.allow_none:
        return made
    if "type" in made:
        return {**made, "type": [made["type"], "null"]}
    return {"anyOf": [made, {"type": "null"}]}


class Plugin(MarshmallowPlugin):
    """The plugin that knows our fields and calls a shape by the name of its class."""

    Converter = Converter

    def __init__(self) -> None:
        super().__init__(schema_name_resolver=lambda schema: _class_of(schema).__name__)

    def init_spec(self, spec: APISpec) -> None:
        super().init_spec(spec)
        assert self.converter is not None  # noqa: S101 - set by the line above
        self.converter.add_attribute_function(strict_to_schema)


def _class_of(schema: Any) -> type:
    return schema if isinstance(schema, type) else type(schema)


def request_schema() -> dict[str, Any]:
    """JSON Schema of a costing request, complete in itself; kept beside this module as a file."""
    from service.schemas.costing import CostingRequest

    return schema_of(CostingRequest)


def schema_of(shape: type[Shape]) -> dict[str, Any]:
    """JSON Schema of a document of a shape, complete in itself."""
    plugin = Plugin()
    spec = APISpec("litrewise", "1", OPENAPI_VERSION, plugins=[plugin])
    spec.components.schema(shape.__name__, schema=shape)
    schemas = spec.to_dict()["components"]["schemas"]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$ref": f"#/components/schemas/{shape.__name__}",
        "components": {"schemas": _without_prose(schemas)},
    }


def _without_prose(node: Any) -> Any:
    """The schema without what only people read."""
    if isinstance(node, list):
        return [_without_prose(item) for item in node]
    if not isinstance(node, dict):
        return node
    return {
        key: _without_prose(value)
        for key, value in node.items()
        if not (key == "description" and isinstance(value, str)) and key != "discriminator"
    }
