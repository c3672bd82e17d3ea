"""The JSON Schema of the tree format, made from the model: what an editor can know without running anything.

Invariant: the schema accepts whatever loading accepts, so no editor ever underlines a good tree; what loading refuses
it refuses where a schema can say so. Texts may have blanks at their ends, as when loading. It is written to
`tree.schema.json` ahead of time; nothing that judges or talks imports this.
"""

from __future__ import annotations

from typing import Any, NamedTuple, get_args

from pydantic import BaseModel

from assistant.tree import model
from assistant.tree.described import TABLES
from assistant.tree.schema_rules import RULES

__all__ = ["TAKES", "keys", "schema", "words_of"]

Schema = dict[str, Any]

BARE = "[a-z][a-z0-9-]*"
RESERVED = sorted(model.RESERVED)
ID: Schema = {"type": "string", "pattern": rf"^\s*{BARE}\s*$", "not": {"enum": RESERVED}}
STATE: Schema = {"enum": list(model.STATES)}


class Takes(NamedTuple):
    """What a key takes: in words, and as a schema."""

    words: str
    schema: Schema


def _texts(**more: object) -> Schema:
    return {"type": "array", "items": {"type": "string", "pattern": r"\S"}, **more}


def _table(names: Schema, values: Schema) -> Schema:
    return {"type": "object", "propertyNames": names, "additionalProperties": values}


SOME: Schema = {"type": "string", "pattern": r"\S"}
NAME: Schema = {key: value for key, value in ID.items() if key != "type"}
CONSTANT: Schema = {"type": ["string", "number", "array"], "items": {"type": "string"}}

TAKES = {
    "text": Takes("a text", SOME),
    "texts": Takes("a list of texts", _texts()),
    "some-texts": Takes("a list of texts, one at least", _texts(minItems=1)),
    "id": Takes("an id", ID),
    "ids": Takes(
        "an id, or a list of ids", {**ID, "type": ["string", "array"], "items": ID, "uniqueItems": True}
    ),
    "then": Takes(
        "a step, `end`, or `verdict:<id>`",
        {
            "type": "string",
            "pattern": rf"^\s*({BARE}|verdict:{BARE})\s*$",
            "not": {"enum": [word for word in RESERVED if word != "end"]},
        },
    ),
    "one": Takes("1", {"const": 1}),
    "number": Takes("a number", {"type": "number"}),
    "effort": Takes("a whole number from 1 to 5", {"type": "integer", "minimum": 1, "maximum": 5}),
    "flag": Takes("`true` or `false`", {"type": "boolean"}),
    "month": Takes(
        'a year and month in quotes, such as "2027-06"',
        {"type": "string", "pattern": r"^\s*\d{4}-(0[1-9]|1[0-2])\s*$"},
    ),
    "given": Takes("a table: question = fact key", _table(NAME, SOME)),
    "set-answers": Takes("a table: question = answer", _table(NAME, CONSTANT)),
    "set-inputs": Takes("a table: input = value", {"type": "object", "additionalProperties": CONSTANT}),
    "give": Takes(
        "a table: input = fact key, or a list of keys such as `joint.*`",
        {
            "type": "object",
            "additionalProperties": {
                "type": ["string", "array"],
                "pattern": r"\S",
                "items": SOME,
                "minItems": 1,
            },
        },
    ),
    "when": Takes(
        "a table: requirement = state, or a list of states; `any` and `all` for all requirements",
        _table(
            {"pattern": ID["pattern"], "not": {"enum": ["end", model.NOT_SURE]}},
            {"anyOf": [STATE, {"type": "array", "minItems": 1, "items": STATE}]},
        ),
    ),
    "renamed": Takes("a table: old = new", {"type": "object", "additionalProperties": SOME}),
}
"""What a key can take; besides these a word of a closed list, several of them, and tables."""


class Key(NamedTuple):
    """One key of a table, as the reference tells of it."""

    name: str
    required: bool
    needed: str
    takes: str
    says: str
    schema: Schema


def keys(table: type[BaseModel]) -> list[Key]:
    """The keys of a table in the order of the reference, each with all that is known of it."""
    told = TABLES[table.__name__].keys
    fields = {field.alias or name: field for name, field in table.model_fields.items()}
    found = []
    for key in [*told, *(key for key in fields if key not in told)]:
        field = fields[key]
        words, shape = _taken(told[key].takes, field.annotation)
        found.append(
            Key(
                key, field.is_required(), told[key].needed, words, told[key].says,
                {"description": told[key].says, **shape},
            )
        )  # fmt: skip
    return found


def _taken(takes: str, annotation: Any) -> tuple[str, Schema]:
    if takes in TAKES:
        return TAKES[takes].words, TAKES[takes].schema
    if takes in ("word", "words"):
        words = words_of(annotation)
        listed = ", ".join(f'"{word}"' for word in words)
        if takes == "word":
            return f"one of {listed}", {"enum": words}
        return f"a list of {listed}", {"type": "array", "items": {"enum": words}}
    inner = _model_in(annotation)
    name = inner.__name__
    if takes == "table":
        return "a table", {"$ref": f"#/$defs/{name}"}
    if takes == "named":
        return "tables, each with an id", _table(NAME, {"$ref": f"#/$defs/{name}"})
    return "one or more tables", {"type": "array", "items": {"$ref": f"#/$defs/{name}"}}


def words_of(annotation: Any) -> list[str]:
    """The words of the closed list within an annotation."""
    if isinstance(annotation, str):
        return [annotation]
    return [word for part in get_args(annotation) for word in words_of(part)]


def _model_in(annotation: Any) -> type[BaseModel]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next(
        found
        for part in get_args(annotation)
        if part is not type(None) and not isinstance(part, str | type(Ellipsis)) and part is not str
        for found in [_model_in(part)]
    )


def schema() -> Schema:
    """The whole schema, draft 2020-12."""
    tables = {name: getattr(model, name) for name in TABLES}
    defs = {name: _object(table) for name, table in tables.items() if name != "TreeFile"}
    defs["QuestionBand"] = {**_object(model.Band), "allOf": RULES["Band"] + RULES["Answer"]}
    defs["Question"]["properties"]["band"]["items"] = {"$ref": "#/$defs/QuestionBand"}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:throughwall:tree:1",
        "title": "A decision tree, format 1",
        **_object(model.TreeFile),
        "$defs": defs,
    }


def _object(table: type[BaseModel]) -> Schema:
    name = table.__name__
    found = keys(table)
    rules = RULES.get(name)
    return {
        "type": "object",
        "description": f"{TABLES[name].header}: {TABLES[name].says}",
        "properties": {key.name: dict(key.schema) for key in found},
        "required": [key.name for key in found if key.required],
        "additionalProperties": False,
        **({"allOf": rules} if rules else {}),
    }
