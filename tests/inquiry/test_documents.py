"""JSON documents and their schemas come from one type."""

from __future__ import annotations

import json

import pytest
from jsonschema import Draft202012Validator

from rig.errors import InputError
from rig.inquiry.documents import DOCUMENTS, document, document_type, json_schema


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_document_has_a_schema_that_is_one_and_is_json(name: str) -> None:
    schema = json_schema(name)

    Draft202012Validator.check_schema(schema)
    json.dumps(schema, allow_nan=False)
    assert schema["properties"]["document"]["const"] == name
    assert set(schema["required"]) == set(schema["properties"])


def test_an_unknown_document_is_refused_with_the_known_ones() -> None:
    with pytest.raises(InputError) as refused:
        document_type("weather")

    assert "weather" in str(refused.value)


@pytest.mark.parametrize("name", DOCUMENTS)
def test_a_document_of_another_type_is_refused(name: str) -> None:
    with pytest.raises(TypeError):
        document(name, object())
