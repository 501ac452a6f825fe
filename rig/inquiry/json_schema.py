"""How `rig.model.plain` writes values, in terms of JSON Schema."""

from __future__ import annotations

from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema


class PlainJsonSchema(GenerateJsonSchema):
    """Writes schemas of results as `plain` turns them into data."""

    def float_schema(self, schema: core_schema.FloatSchema) -> JsonSchemaValue:
        """A number, or null where it is not finite."""
        return {"anyOf": [super().float_schema(schema), {"type": "null"}]}

    def decimal_schema(self, schema: core_schema.DecimalSchema) -> JsonSchemaValue:
        """A number, or null where it is not finite."""
        return {"anyOf": [{"type": "number"}, {"type": "null"}]}

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        """No default: every key is always written."""
        return self.generate_inner(schema["schema"])

    def field_is_required(
        self,
        field: core_schema.ModelField
        | core_schema.DataclassField
        | core_schema.TypedDictField,
        total: bool,
    ) -> bool:
        """Every key is always written."""
        return True

    def is_instance_schema(
        self, schema: core_schema.IsInstanceSchema
    ) -> JsonSchemaValue:
        """An array of numbers, of any depth."""
        if schema["cls"].__name__ != "ndarray":
            return super().is_instance_schema(schema)
        return {"type": "array"}
