"""What the keys of one table mean for each other, in the words of JSON Schema.

Invariant: each rule is one that loading holds too; a tree that loads breaks none of them.
"""

from __future__ import annotations

from typing import Any

__all__ = ["RULES"]

Schema = dict[str, Any]

NONE: Schema = {"maxItems": 0}
SOME: Schema = {"minItems": 1}
NEVER: Schema = {"not": {}}
NEEDS_THEN: Schema = {"items": {"required": ["then"], "additionalProperties": True}}


def _part(required: tuple[str, ...] = (), **properties: Schema) -> Schema:
    """A part of a table; some editors take it for the whole unless it says that other keys may stand there."""
    named = {name.replace("_", "-"): value for name, value in properties.items()}
    return {
        **({"properties": named} if named else {}),
        **({"required": list(required)} if required else {}),
        "additionalProperties": True,
    }


def _if(condition: Schema, then: Schema, otherwise: Schema | None = None) -> Schema:
    return {"if": condition, "then": then, **({"else": otherwise} if otherwise else {})}


def _kind(*kinds: str, without: str = "") -> Schema:
    """A question of one of these kinds; `without`: that lacks this key besides."""
    part = _part(("kind",), kind={"enum": list(kinds)})
    return {**part, "not": {"required": [without]}} if without else part


WITHOUT_THEN: Schema = {"not": {"required": ["then"]}}
"""A table that has no `then` of its own: its rows must have one each."""

RULES: dict[str, list[Schema]] = {
    "Question": [
        _if(
            _kind("choice", "several"),
            _part(("answer",), answer=SOME, band=NONE, least=NEVER, most=NEVER, unit=NEVER),
        ),
        _if(_kind("measure", "count"), _part(("least", "most"), answer=NONE)),
        _if(_kind("count"), _part(least={"type": "integer"}, most={"type": "integer"})),
        _if(_kind("several", "note"), _part(("then",), not_sure=_part(("then",)))),
        _if(_kind("several"), _part(answer={"items": _part(then=NEVER)})),
        _if(_kind("note"), _part(answer=NONE, band=NONE, least=NEVER, most=NEVER, unit=NEVER)),
        _if(_kind("choice", without="then"), _part(answer=NEEDS_THEN)),
        _if(_kind("measure", "count", without="then"), _part(("band",), band={**SOME, **NEEDS_THEN})),
        _if(_part(("must-answer",), must_answer={"const": True}), _part(not_sure=NEVER)),
    ],
    "Answer": [
        _if(_part(("put-right",)), _part(("effort",))),
        _if(_part(("effort",)), _part(("put-right",))),
    ],
    "Band": [_if(_part(("below",)), _part(up_to=NEVER))],
    "Recall": [
        _if(_part(("answer",), answer=SOME), _part(band=NONE)),
        _if(
            WITHOUT_THEN,
            {
                **_part(answer=NEEDS_THEN, band=NEEDS_THEN),
                "anyOf": [_part(("answer",), answer=SOME), _part(("band",), band=SOME)],
            },
        ),
    ],
    "Working": [
        _part(band=SOME),
        _if(WITHOUT_THEN, _part(band=NEEDS_THEN)),
    ],
    "Each": [_if(_part(("count",)), _part(over=NEVER), _part(("over",)))],
    "Finding": [
        _if(
            _part(("effect",), effect={"enum": ["meets", "unproven", "fails", "danger"]}),
            _part(("requirement",)),
        )
    ],
}
"""By the name of the model's class."""
