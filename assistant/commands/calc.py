"""`calc`: one working of the trade."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from assistant.commands.shared import print_json
from assistant.errors import Exit, Refused

__all__ = ["calc"]


@click.command()
@click.argument("name", required=False)
@click.argument("values", nargs=-1, metavar="k=v…")
@click.option(
    "--from",
    "file",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A file with the tables of a list, such as [[joints]].",
)
@click.option("--json", "as_json", is_flag=True, help="One line of JSON.")
def calc(name: str | None, values: tuple[str, ...], file: Path | None, as_json: bool) -> int:
    """One working of the trade: inputs with units (hole_mm=5in), the sum shown.

    Without a NAME, the workings there are; with a NAME alone, what it takes (with --json, an error that says so).
    """
    from assistant.workings import calc as typed
    from assistant.workings import registry

    if name is None:
        if as_json:
            print_json({"workings": {each: registry.find(each).title for each in registry.names()}})
            return Exit.ACCEPTABLE
        for each in registry.names():
            click.echo(f"{each:<16} {registry.find(each).title}")
        return Exit.ACCEPTABLE
    try:
        working = registry.find(name)
        if not values and file is None and not as_json:
            click.echo(_usage(working))
            return Exit.ACCEPTABLE
        assignments = _assignments(values)
        items = _items(file, working) if file is not None else None
        given = typed.given_of(name, assignments, items)
        figures = working.work(given)
    except Refused as error:
        if as_json:
            print_json({"error": {"message": error.message, "where": error.where, "hint": error.hint}})
            return Exit.REFUSED
        raise
    if as_json:
        from assistant.render.data import plain

        sources = [source.id for source in working.sources]
        print_json(
            {
                "name": name,
                "inputs": plain(given),
                "results": plain(figures.results),
                "source": sources,
                "shown": figures.shown,
            }
        )
        return Exit.ACCEPTABLE
    click.echo(figures.shown)
    words = {"published": "", "common-practice": " (common practice)", "memory": " (from memory)"}
    for source in working.sources:
        click.echo(f"Source: {source.title}{words[source.standing]}")
    if working.leaves_out:
        click.echo(f"Leaves out: {working.leaves_out}")
    return Exit.ACCEPTABLE


def _assignments(values: tuple[str, ...]) -> dict[str, str]:
    assignments: dict[str, str] = {}
    for value in values:
        key, equals, text = value.partition("=")
        if not equals or not key.strip():
            raise Refused(
                f'"{value}" is not an input', 'Write name=value, such as hole_mm=127 or "hole_mm=5 in".'
            )
        if key.strip() in assignments:
            raise Refused(f'"{key.strip()}" is given twice', "Give it once.")
        assignments[key.strip()] = text
    return assignments


def _items(file: Path, working: Any) -> list[Mapping[str, object]]:
    from assistant.tree import toml

    document = toml.read(file, lists=())
    names = [each.name for each in working.inputs if each.kind == "items"]
    if not names:
        raise Refused(f"{working.name} takes no list of tables", "Leave --from out.")
    for key in document.data:
        if key not in names:
            place = document.place((key,), key=True)
            raise Refused(
                f"`{key}` does not belong in this file",
                f"It holds [[{names[0]}]] tables; give the rest as {key}=value.",
                f"{file}:{place}",
            )
    rows = document.data.get(names[0])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise Refused(
            f"the file has no [[{names[0]}]] tables",
            f"Write one [[{names[0]}]] for each, from the appliance.",
            str(file),
        )
    return rows


def _usage(working: Any) -> str:
    lines = [f"{working.name}: {working.title}", ""]
    for each in working.inputs:
        need = "" if each.required else "  [unknown if left out]"
        kind = f" ({', '.join(each.choices)})" if each.choices else ""
        lines.append(f"  {each.name:<18} {each.means}{kind}{need}")
    lines.append("")
    lines += [f"  → {each.name:<16} {each.explained}" for each in working.results]
    return "\n".join(lines)
