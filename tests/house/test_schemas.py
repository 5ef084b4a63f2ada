"""Every answer in JSON keeps to its schema, and no schema lets a field go unnoticed.

The schemas are checked, and the answers against them, by jsonschema (Julian Berman), which
implements JSON Schema draft 2020-12 and passes that specification's own test suite.
"""

import json

import click
import pytest
from answers import Desk
from jsonschema import Draft202012Validator
from questions import FORMS

from stopgap.cli.program import program
from stopgap.errors import InputError
from stopgap.reports.schemas import answer_names, answer_schema

pytestmark = pytest.mark.slow

FREE = {"read_as", "measurement", "extra", "opacity", "opacity_between"}
"""Objects whose keys depend on the user's file."""


@pytest.fixture(scope="module")
def answers(tmp_path_factory):
    """Every answer, by the name of its question; asked once each, when it is wanted."""
    desk = Desk(tmp_path_factory.mktemp("answers") / "desk")
    known = {}

    def answer(name):
        if name not in known:
            _, text = desk.answer(FORMS[name])
            known[name] = json.loads(text, parse_constant=refuse)
        return known[name]

    return answer


def refuse(text):
    raise AssertionError(f"{text} is no JSON")


def validator(answer):
    name, _, version = answer["schema"].removeprefix("stopgap.").partition("/")
    assert version == "1"
    return Draft202012Validator(answer_schema(name))


@pytest.mark.parametrize("name", answer_names())
def test_schema_is_one(name):
    schema = answer_schema(name)
    Draft202012Validator.check_schema(schema)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["properties"]["schema"] == {"const": f"stopgap.{name}/1"}


@pytest.mark.parametrize("name", FORMS)
def test_answer_keeps_to_its_schema(name, answers):
    answer = answers(name)
    assert next(iter(answer)) == "schema"
    validator(answer).validate(answer)


def test_every_schema_has_an_answer(answers):
    used = {answers(name)["schema"] for name in FORMS}
    assert used == {f"stopgap.{name}/1" for name in answer_names()}


def test_every_command_with_json_is_asked():
    asked = {question.spellings[0] for question in FORMS.values()}
    for path in commands_with_json(program):
        assert any(words[: len(path)] == path for words in asked), path


def commands_with_json(command, path=()):
    if isinstance(command, click.Group):
        context = click.Context(command)
        for name in command.list_commands(context):
            yield from commands_with_json(command.get_command(context, name), (*path, name))
    elif any("--json" in parameter.opts for parameter in command.params):
        yield path


@pytest.mark.parametrize("name", answer_names())
def test_every_object_names_all_its_fields(name):
    for path, inner in objects(answer_schema(name)):
        if FREE & set(path):
            continue
        assert inner["additionalProperties"] is False, path
        assert sorted(inner["required"]) == sorted(inner["properties"]), path
        assert all(inner["properties"].values()), path


def objects(schema, path=()):
    """Every schema of an object inside a schema, with its path."""
    if isinstance(schema, dict):
        if schema.get("type") == "object":
            yield path, schema
        for key, inner in schema.items():
            yield from objects(inner, (*path, key))
    elif isinstance(schema, list):
        for inner in schema:
            yield from objects(inner, path)


@pytest.mark.parametrize("field", ["matches", "swatch", "lab", "interval"])
def test_a_field_lost_changed_or_added_is_noticed(field, answers):
    answer = answers("match_lamps_reconstructed")
    text = json.dumps(answer)
    check = validator(answer)
    assert check.is_valid(answer)
    assert not check.is_valid(json.loads(text.replace(f'"{field}":', f'"{field}s":', 1)))
    assert not check.is_valid(json.loads(text.replace(f'"{field}":', f'"{field}": 5, "x":', 1)))
    assert not check.is_valid(json.loads(text.replace(f'"{field}":', f'"x": 5, "{field}":', 1)))


def test_a_schema_that_is_not_there_is_refused_in_words():
    with pytest.raises(
        InputError, match=r"'mutch': expected an answer, one of arrangements, blend, "
    ):
        answer_schema("mutch")
