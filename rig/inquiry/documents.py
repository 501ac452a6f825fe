"""The JSON documents that commands print: names, types and JSON Schemas.

A document is the frozen result of an inquiry as plain data, with its name and the
version of its format in front. Its schema is made from the same type.
"""

from __future__ import annotations

import importlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import fields
from typing import Any, Final, Literal, get_type_hints

from rig.errors import InputError
from rig.model.plain import plain

FORMAT: Final = 1  # raise it when a key changes its meaning or goes

# Name of the document: module and type of the result behind it. The modules are
# imported only when needed, so that help answers at once.
DOCUMENTS: Final[dict[str, str]] = {
    "rigs": "rig.link.answering_ports:PortAnswers",
    "settings": "rig.procedures.rig_settings:RigSettings",
    "run": "rig.inquiry.run_document:RunDocument",
    "attempt": "rig.inquiry.tried_document:TriedDocument",
    "run-comparison": "rig.inquiry.comparison_document:ComparisonDocument",
    "results": "rig.inquiry.run_list:RunList",
    "detection": "rig.inquiry.detection:DetectionTable",
    "part": "rig.inquiry.part_history:PartHistory",
    "plan": "rig.inquiry.plan:PlanDocument",
    "plans": "rig.inquiry.plan_list:PlanList",
    "recomputation": "rig.inquiry.recomputation_document:RecomputationDocument",
    "demo": "rig.inquiry.plan:DemoDocument",
    "watch": "rig.model.watched_inputs:WatchedInputs",
    "check": "rig.procedures.check:CheckDocument",
    "touch-off": "rig.inquiry.touch_off_figures:TouchOffFigures",
    "products": "rig.inquiry.products:Products",
    "lot": "rig.inquiry.lot_evidence:LotDocument",
    "lot-curve": "rig.inquiry.lot_curve:LotCurve",
    "lot-decision": "rig.inquiry.lot_decision:LotDecided",
    "lot-part": "rig.inquiry.lot_reading:LotPartDocument",
    "lot-state": "rig.inquiry.lot_state:LotStateDocument",
    "lots": "rig.inquiry.lot:LotsList",
    "nonconformity": "rig.inquiry.nonconformity:NonconformityDocument",
    "supplier-history": "rig.inquiry.supplier_history:ProductHistory",
    "suppliers": "rig.inquiry.supplier_history:SuppliedProducts",
    "batch": "rig.inquiry.batch_document:BatchDocument",
    "calibration": "rig.inquiry.axis_calibration:CalibrationResult",
    "calibrations": "rig.inquiry.axis_calibration:Calibrations",
    "place-check": "rig.inquiry.place_check:PlaceCheckResult",
    "availability": "rig.inquiry.availability_checks:AvailabilityResult",
    "availabilities": "rig.inquiry.availability_checks:Availabilities",
    "bench": "rig.inquiry.declared_bench:DeclaredBench",
    "benches": "rig.inquiry.declared_bench:DeclaredBenches",
    "documents": "rig.inquiry.issued_documents:IssuedDocuments",
    "study": "rig.inquiry.study_document:StudyDocument",
    "study-agreement": "rig.inquiry.gauge_document:AgreementDocument",
    "study-components": "rig.inquiry.gauge_document:ComponentsDocument",
    "study-filled": "rig.inquiry.study:StudyProgress",
    "study-layout": "rig.inquiry.study_document:StudyLayout",
    "study-linearity": "rig.inquiry.gauge_document:LinearityDocument",
    "study-single": "rig.inquiry.gauge_document:SingleGaugeDocument",
    "study-stability": "rig.inquiry.gauge_document:StabilityDocument",
    "hand-comparison": "rig.inquiry.hand:HandResult",
    "hand-entry": "rig.inquiry.hand:HandEntry",
    "operators": "rig.inquiry.operators:Operators",
    "trail": "rig.inquiry.trail_list:TrailList",
    "verification": "rig.inquiry.verification:Verification",
    "log": "rig.inquiry.wire_log:WireLog",
    "hand-in": "rig.inquiry.handing_in:HandInState",
    "error": "rig.inquiry.error_document:ErrorDocument",
    "prediction": "rig.inquiry.prediction:PredictionResult",
}


def document_type(name: str) -> type:
    """Return the type of the result behind a document.

    Raises:
        InputError: There is no document of that name.
    """
    try:
        module, _, kind = DOCUMENTS[name].partition(":")
    except KeyError as exc:
        raise InputError(
            f"there is no document {name!r}",
            hint=f"give one of: {', '.join(DOCUMENTS)}",
        ) from exc
    found: type = getattr(importlib.import_module(module), kind)
    return found


def document(name: str, result: Any) -> dict[str, Any]:
    """Return a result as a document, ready for `json.dumps`.

    Raises:
        InputError: There is no document of that name.
        TypeError: The result is of another type than the document.
    """
    kind = document_type(name)
    if not isinstance(result, kind):
        raise TypeError(f"document {name!r} is a {kind.__name__}")
    return {"document": name, "format": FORMAT, **plain(result)}


def document_parts(name: str, content: str, rows: Iterable[Any]) -> Iterator[str]:
    """Yield the text of a document row by row, so that it is never held as a whole.

    Args:
        name: Name of the document.
        content: Only field of the document, a list.
        rows: Plain data or results, one after another.

    Raises:
        InputError: There is no document of that name.
        TypeError: The document has other fields.
    """
    kind = document_type(name)
    if [field.name for field in fields(kind)] != [content]:
        raise TypeError(f"document {name!r} is no list of {content}")
    before = f'{{"document": "{name}", "format": {FORMAT}, "{content}": ['
    for row in rows:
        text = json.dumps(plain(row), allow_nan=False, ensure_ascii=False)
        yield f"{before}{text}"
        before = ","
    yield "]}" if before == "," else f"{before}]}}"


def json_schema(name: str) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a document.

    Raises:
        InputError: There is no document of that name.
    """
    # Deferred: it takes a while to load, and only schemas need it
    from pydantic import ConfigDict, create_model

    from rig.inquiry.json_schema import PlainJsonSchema

    kind = document_type(name)
    hints = get_type_hints(kind)
    config = ConfigDict(arbitrary_types_allowed=True, extra="forbid", title=name)
    content: dict[str, Any] = {
        field.name: (hints[field.name], ...) for field in fields(kind)
    }
    head: dict[str, Any] = {
        "document": (Literal[name], ...),
        "format": (Literal[FORMAT], ...),
    }
    model = create_model(kind.__name__, __config__=config, **head, **content)
    schema = model.model_json_schema(
        mode="serialization", schema_generator=PlainJsonSchema
    )
    return {"$schema": PlainJsonSchema.schema_dialect, **schema}
