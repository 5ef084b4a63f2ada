"""JSON Schemas (draft 2020-12) of the answers that programs read, a file for each.

`match.json` belongs to answers whose `schema` is `stopgap.match/1`; `parts.json` holds what several
of them share.
"""

import json
from pathlib import Path
from typing import Any

from stopgap.errors import InputError
from stopgap.swatches import FIELDS

_FOLDER = Path(__file__).parent
_PARTS = "parts"


def answer_names() -> list[str]:
    """The answers that have a schema, by name."""
    return sorted({path.stem for path in _FOLDER.glob("*.json")} - {_PARTS})


def answer_schema(name: str) -> dict[str, Any]:
    """The schema of an answer, with everything inside that it refers to.

    Raises
    ------
    InputError
        If no answer is called `name`.

    >>> answer_schema("match")["title"]
    'Stand-ins for one colour, nearest first'
    """
    if name not in answer_names():
        raise InputError(f"{name!r}: expected an answer, one of {', '.join(answer_names())}.")
    schema = _read(name)
    if name == "range":
        _add_fields(schema["properties"]["swatches"]["items"])
    if name == "imports":
        schema["properties"]["ranges"]["items"].update(_bare(_read("import")))
    if name == "class":
        _add_translation(schema["properties"]["boxes"]["items"])
    return {**schema, "$defs": {**schema.get("$defs", {}), _PARTS: _read(_PARTS)}}


def _bare(schema: dict[str, Any]) -> dict[str, Any]:
    """A schema as part of another, without what tells whose it is."""
    return {key: value for key, value in schema.items() if not key.startswith("$")}


def _add_fields(schema: dict[str, Any]) -> None:
    """Add the fields of a pencil that the file does not name, which are told as their kind says."""
    named = {*schema["properties"], *_read(_PARTS)["$defs"]["swatch"]["properties"]}
    for row in FIELDS.values():
        if row.name not in named:
            schema["properties"][row.name] = dict(row.kind.told_as)
            schema["required"].append(row.name)


def _add_translation(schema: dict[str, Any]) -> None:
    """Add to a box what `translate` says of it alone, but what is said once for all."""
    for name, field in _read("translate")["properties"].items():
        if name not in ("schema", "paper", "marked"):
            schema["properties"][name] = field
            schema["required"].append(name)


def _read(name: str) -> Any:
    return json.loads((_FOLDER / f"{name}.json").read_text(encoding="utf-8"))
