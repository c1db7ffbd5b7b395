"""The OpenAPI document says what is read and answered, and all of it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import jsonschema_rs
import pytest
from click.testing import CliRunner
from starlette.routing import Route

from logbook_app.sync import messages
from logbook_app.sync.messages import Hello, Join, Pull, message_kinds, message_name, to_wire
from server.__main__ import club as commands
from server.api_document import ANSWER_TO
from server.pages.site_map import PAGES
from tests.server.clubs import ServedClub, served, token_of

pytestmark = pytest.mark.law

REQUESTS = [kind for kind in message_kinds().values() if kind in get_args(messages.Request)]


@pytest.fixture
def club(tmp_path: Path) -> Iterator[ServedClub]:
    with served(tmp_path / "club") as club:
        yield club


def schema_asked(document: dict, path: str) -> dict:
    return document["paths"][path]["post"]["requestBody"]["content"]["application/json"]["schema"]


def test_every_message_is_an_operation_and_every_route_is_in_the_document(club):
    document = club.app.openapi()
    told = {each["operationId"] for path in document["paths"].values() for each in path.values()}
    assert len(REQUESTS) == len(ANSWER_TO)
    assert set(ANSWER_TO) <= told
    for name in ANSWER_TO:
        assert message_kinds()[name] in REQUESTS
        assert message_kinds()[ANSWER_TO[name]] in get_args(messages.Reply)
    routes = {route.path for route in club.app.routes if isinstance(route, Route)}
    assert routes - {page.path for page in PAGES} - {"/look/{name}"} == set(document["paths"])


def test_messages_are_valid_by_the_document_and_others_are_not(club):
    document = club.app.openapi()
    for request in (Join("abc", token_of("a")), Hello(1), Pull(1, 0)):
        name = message_name(request)
        validator = jsonschema_rs.validator_for(schema_asked(document, f"/v1/{name}"))
        told = json.loads(to_wire(request))
        assert validator.is_valid(told)
        assert validator.is_valid(told | {"said_by_a_later_program": 1})
        for needed in told.keys() - {"limit", "name", "at"}:
            assert not validator.is_valid({key: said for key, said in told.items() if key != needed})
        assert not validator.is_valid(told | {"end": 1})


def test_answers_are_valid_by_the_document(club):
    club.joined("Ada", "phone")
    document = club.app.openapi()
    answers = {
        "Pushed": club.push("phone", "dive:1", 1, notes="calm", readers=["*"]),
        "Pulled": club.ask(Pull(1, 0), token_of("phone")),
        "Records": club.ask(messages.Snapshot(1), token_of("phone")),
        "Refusal": club.ask(Pull(9, 0), token_of("phone")),
        "Compared": club.ask(messages.Compare(1, 1, 0, "", "phone", 1, 1), token_of("phone")),
        "BucketDigests": club.ask(messages.Buckets(1, 1), token_of("phone")),
    }
    for kind, answer in answers.items():
        assert type(answer).__name__ == kind
        schema = document["components"]["schemas"][kind]
        jsonschema_rs.validator_for(schema).validate(json.loads(to_wire(answer)))


def test_the_document_is_printed_by_a_command_and_served_to_nobody(club, tmp_path):
    printed = CliRunner().invoke(commands, ["--home", str(tmp_path / "other"), "openapi"])
    assert json.loads(printed.output)["paths"] == json.loads(json.dumps(club.app.openapi()["paths"]))
    for path in ("/openapi.json", "/docs", "/redoc"):
        assert club.send("GET", path).status == 404
