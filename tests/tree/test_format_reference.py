"""The reference of the format: its keys, limits and codes are those of the code, and its example does what it says."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import jsonschema
import pytest
from pydantic import BaseModel

from assistant.session.prove import work_out
from assistant.tree import model
from assistant.tree.codes import CODES
from assistant.tree.described import TABLES
from assistant.tree.load import load_text
from assistant.tree.schema import schema
from tests.format import LIMITS, REFERENCE, parts, reference_text

TEXT = REFERENCE.read_text(encoding="utf-8")
BLOCKS = re.findall(r"```toml\n(.*?)```", TEXT, flags=re.DOTALL)
MODELS = {
    name: found
    for name, found in vars(model).items()
    if isinstance(found, type) and issubclass(found, model.Table) and found not in (model.Table, model.Branch)
}


def example(file: str) -> str:
    """A file of the worked example, as it is at the end."""
    return "\n".join(match[3] for kind, name, match in parts(TEXT) if (kind, name) == ("file", file))


def listed(table: str) -> dict[str, str]:
    """The keys that the reference lists for a table, each with what stands in brackets behind it."""
    block = TEXT.partition(f"<!-- keys: {table} -->\n")[2].partition("<!-- end -->")[0]
    return dict(re.findall(r"^- `([^`]+)` \(([^;)]*);", block, flags=re.MULTILINE))


def test_the_reference_is_as_it_is_made() -> None:
    assert reference_text(TEXT) == TEXT, "run python -m tests.format"


def test_it_tells_of_every_table_and_no_other() -> None:
    assert set(TABLES) == set(MODELS)
    assert set(re.findall(r"<!-- keys: (\w+) -->", TEXT)) == set(MODELS)


@pytest.mark.parametrize("name", MODELS)
def test_it_lists_every_key_with_whether_it_is_needed(name: str) -> None:
    table: type[BaseModel] = MODELS[name]
    fields = {field.alias or key: field for key, field in table.model_fields.items()}
    marks = listed(name)
    assert set(marks) == set(fields)
    for key, mark in marks.items():
        assert (mark == "needed") == fields[key].is_required(), key


def test_every_key_stands_in_an_example() -> None:
    whole = "\n".join(BLOCKS)
    for name, table in MODELS.items():
        for key in (field.alias or key for key, field in table.model_fields.items()):
            written = rf"^(\[+|.*\.){key}[\].]" if name == "TreeFile" and key != "format" else rf"^{key} = "
            shown = re.search(written, whole, flags=re.MULTILINE)
            table_of_its_own = re.search(rf"^\[+\w+\.[\w-]+\.{key}\]+$", whole, flags=re.MULTILINE)
            assert shown or table_of_its_own, f"{name}.{key}"


@pytest.mark.parametrize("block", BLOCKS)
def test_every_piece_is_toml_and_agrees_with_the_schema(block: str) -> None:
    data = tomllib.loads(block)
    if "rule" in data:
        return
    pieces = {key: value for key, value in data.items() if key not in ("facts", "tree") or "id" in value}
    loose = {**schema(), "required": []}
    for one in loose["$defs"].values():
        one["required"] = []
        one.pop("allOf", None)
    errors = [error.message for error in jsonschema.Draft202012Validator(loose).iter_errors(pieces)]
    assert errors == []


def test_the_example_loads_and_passes_every_proof() -> None:
    tree = load_text(example("condensate.toml"), "condensate.toml")
    proof = work_out(tree)
    assert [str(complaint) for complaint in proof.complaints] == []
    assert proof.proven


def test_every_whole_tree_in_it_is_the_example() -> None:
    assert [block for block in BLOCKS if "format = 1" in block and "[tree]" in block] == [
        match[3] for kind, name, match in parts(TEXT) if kind == "file" and name == "condensate.toml"
    ][:1]


def test_the_example_runs_its_commands() -> None:
    commands = [match[3].partition("\n")[0] for kind, _, match in parts(TEXT) if kind == "run"]
    assert len(commands) >= 6
    assert "condensate.toml: passed" in TEXT


def test_every_limit_is_named_with_its_number() -> None:
    for says, most in LIMITS:
        assert f"At most {says.format(f'{most:,}')}" in " ".join(TEXT.split())


def test_every_code_is_explained_and_no_other() -> None:
    block = TEXT.partition("<!-- codes -->\n")[2].partition("<!-- end -->")[0]
    assert re.findall(r"^- `([^`]+)`:", block, flags=re.MULTILINE) == sorted(
        CODES, key=lambda name: ((CODES[name].group or 99), list(CODES).index(name))
    )


def test_no_line_of_it_is_too_long_for_a_window() -> None:
    assert [line for line in TEXT.splitlines() if len(line) > 112 and not line.startswith("| ")] == []


def test_the_schema_is_named_where_the_editors_look() -> None:
    rule = tomllib.loads(next(block for block in BLOCKS if "[[rule]]" in block))["rule"][0]
    assert rule["schema"]["path"] == "./tree.schema.json"
    assert "#:schema ./tree.schema.json" in BLOCKS[-2]
    assert Path("tree.schema.json").name in TEXT
