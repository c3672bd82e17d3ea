"""What is made from the model of the format: `python -m tests.format` writes the schema and the reference anew."""

from __future__ import annotations

import json
from pathlib import Path

from assistant.tree.schema import schema

ROOT = Path(__file__).resolve().parent.parent
SCHEMA = ROOT / "assistant" / "tree" / "tree.schema.json"


def schema_text() -> str:
    """The schema as it is shipped."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    SCHEMA.write_text(schema_text(), encoding="utf-8")
