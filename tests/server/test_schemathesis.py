"""Messages that a program made from the OpenAPI document, good and bad: never a failure, and answers as told.

The examples are the same in every run. A number drawn for an epoch or for a place in the log is hardly ever
the club's, so half of the good messages get the club's own, and go further than a refusal. A message that
is valid by the document may still be refused: its values may be nested too deep, or name what is not there.
"""

from __future__ import annotations

import warnings
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import requests
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.core.transport import Response
from schemathesis.specs.openapi.checks import (
    allow_header_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from logbook_app.sync.wire import LARGEST_NUMBER
from server.api_document import ANSWER_TO
from server.limits import Rate, Rates
from tests.server.clubs import ServedClub, served, token_of

pytestmark = pytest.mark.law

CHECKS = [
    not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance,
    response_headers_conformance, allow_header_conformance,
]  # fmt: skip
EXAMPLES = 10
NOT_THERE = {"join": 403, "put_blob": 404, "get_blob": 404}  # what was drawn: a code, a blob
FREE = Rate(10**9, 1e-6)
MODES = {"good": GenerationMode.POSITIVE, "bad": GenerationMode.NEGATIVE}


@pytest.fixture(scope="module")
def club(tmp_path_factory) -> Iterator[ServedClub]:
    folder: Path = tmp_path_factory.mktemp("club")
    with served(folder, rates=Rates(FREE, FREE, FREE)) as club:
        club.joined("Ada", "phone")
        club.joined("Ada", "spare")  # shuts itself out
        club.push("phone", "dive:1", 1, notes="calm")
        yield club


@pytest.fixture(scope="module")
def operations(club) -> dict[str, Any]:
    found = schemathesis.openapi.from_dict(club.app.openapi()).get_all_operations()
    told = [each.ok() for each in found]
    return {operation.definition.raw["operationId"]: operation for operation in told}


def answered(club: ServedClub, case: Any) -> Response:
    """Ask what a case says, without a socket."""
    how = case.as_transport_kwargs(base_url="http://club.example")
    asked = requests.Request(
        **{key: how[key] for key in how.keys() & {"method", "url", "headers", "json", "data"}}
    )
    prepared = asked.prepare()
    body = prepared.body.encode() if isinstance(prepared.body, str) else prepared.body or b""
    prepared.headers.pop("accept-encoding", None)
    told = club.send(prepared.method, prepared.path_url.partition("?")[0], body, **prepared.headers)
    headers = {name: [value] for name, value in told.headers.items()}
    return Response(told.status, headers, told.content, prepared, 0.1, verify=True)


def with_whole_numbers(told: Any) -> Any:
    """A whole number may be 1.0 by the document's standard; no device writes it so, and no club reads it."""
    if isinstance(told, float) and told.is_integer() and abs(told) < LARGEST_NUMBER:
        return int(told)
    if isinstance(told, dict):
        return {key: with_whole_numbers(each) for key, each in told.items()}
    return [with_whole_numbers(each) for each in told] if isinstance(told, list) else told


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("name", ANSWER_TO)
def test_no_message_is_a_failure_and_every_answer_is_as_told(club, operations, name, mode):
    told: Counter[int] = Counter()
    secret = {"Authorization": f"Bearer {token_of('spare' if name == 'revoke_device' else 'phone')}"}
    seq = club.home.store.state().seq
    place = {"epoch": 1, "seq": seq, "since": seq}

    @settings(
        max_examples=EXAMPLES, derandomize=True, database=None, deadline=None,
        phases=[Phase.generate], suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(operations[name].as_strategy(MODES[mode], headers=secret), st.booleans())
    def ask(case: Any, at_the_club_s_place: bool) -> None:
        if mode == "good":
            case.body = with_whole_numbers(case.body)
            if at_the_club_s_place:
                case.body |= {key: place[key] for key in case.body.keys() & place.keys()}
        response = answered(club, case)
        told[response.status_code] += 1
        case.validate_response(response, checks=CHECKS)
        assert mode == "good" or response.status_code >= 400

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        ask()
    assert told[NOT_THERE.get(name, 200) if mode == "good" else 400]
