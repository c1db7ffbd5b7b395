"""What is said to the club over HTTP, for the OpenAPI document: one operation a message."""

from __future__ import annotations

from typing import Any, Final

from logbook_app.sync.messages import LARGEST_REQUEST, message_kinds
from server.message_schemas import Schema, message_schema

JSON: Final = "application/json"
MESSAGES: Final = "/v1/"

ANSWER_TO: Final = {
    "join": "joined", "hello": "welcome", "push": "pushed", "pull": "pulled", "snapshot": "records",
    "known": "remembered", "give_back": "records", "compare": "compared", "buckets": "bucket_digests",
    "listing": "listed", "fetch": "records", "blobs": "wanted", "put_blob": "blob_part",
    "get_blob": "blob_part", "put_blobs": "blob_parts", "get_blobs": "blob_parts", "devices": "device_list",
    "revoke_device": "device_list",
}  # fmt: skip

_REFUSED: Final = {
    400: "The message cannot be read.",
    401: "No member speaks with this secret, or not any more.",
    403: "The invitation is not good.",
    404: "There is nothing of this name that this member may see.",
    405: "This route is asked in another way.",
    408: "The message did not arrive in time.",
    409: "The club cannot answer this now: its code says what to ask instead.",
    410: "The club has taken away this account.",
    413: f"The message is longer than {LARGEST_REQUEST:,} bytes, or not packed as it says.",
    429: "Too much was asked; Retry-After says how many seconds to wait.",
    500: "The club failed at it.",
    503: "The club is busy or cannot write; Retry-After says how many seconds to wait.",
}
_WAIT: Final = {
    "Retry-After": {"description": "Seconds to wait.", "schema": {"type": "integer", "minimum": 1}}
}
BEARER: Final = "device secret"


def refusals(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """Return how refusals of these statuses are described."""
    schema = {"$ref": "#/components/schemas/Refusal"}
    told: dict[int | str, dict[str, Any]] = {
        status: {"description": _REFUSED[status], "content": {JSON: {"schema": schema}}}
        for status in statuses
    }
    for status in {429, 503}.intersection(statuses):
        told[status]["headers"] = _WAIT
    return told


def described(name: str) -> dict[str, Any]:
    """Return what the document says of a message's route, as FastAPI takes it."""
    kinds, answer = message_kinds(), ANSWER_TO[name]
    asked = message_schema(name, kinds[name], told=False)
    schema = {"$ref": f"#/components/schemas/{kinds[answer].__name__}"}
    answered: dict[int | str, dict[str, Any]] = {
        200: {"description": "The answer.", "content": {JSON: {"schema": schema}}}
    }
    return {
        "operation_id": name,
        "summary": asked["description"],
        "responses": answered | refusals(*_REFUSED),
        "openapi_extra": {
            "requestBody": {"required": True, "content": {JSON: {"schema": asked}}},
            "security": [] if name == "join" else [{BEARER: []}],
        },
    }


def components() -> dict[str, Any]:
    """Return the answers, a refusal among them, and how a device says who it is."""
    kinds = message_kinds()
    told = {*ANSWER_TO.values(), "refusal"}
    schemas: dict[str, Schema] = {
        kinds[name].__name__: message_schema(name, kinds[name], told=True) for name in sorted(told)
    }
    return {"schemas": schemas, "securitySchemes": {BEARER: {"type": "http", "scheme": "bearer"}}}
