"""Facts files: reading one against its tree, and writing a blank one.

Invariant: facts that come out are all askable by the tree and all within what their questions take; everything
wrong with a file is told at once, each with its line.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any, NamedTuple

from assistant.errors import Refused
from assistant.session.fact import UNSTATED, Fact
from assistant.session.session import admit
from assistant.tree import toml
from assistant.tree.answers import expected_answer, read_answer
from assistant.tree.load import load
from assistant.tree.mistakes import Unreadable, nearest, safely
from assistant.tree.model import BASES, NOT_SURE, Question
from assistant.tree.scalars import quoted
from assistant.tree.slips import Slips
from assistant.tree.tree import Asked, Tree
from assistant.workings.units import show

__all__ = ["FactsFile", "blank", "read_facts"]

MOST_BYTES = 2_000_000
MOST_MISTAKES = 100
"""Mistakes that are looked for in one file: the nearest key is costly to find."""
MOST_LINES = 20
"""Lines that one hint writes out."""


class FactsFile(NamedTuple):
    """A facts file that was read: its tree, loaded, and the facts in the order written."""

    tree: Tree
    facts: Mapping[str, Fact]


def read_facts(
    path: Path, tree: str | None = None, trees: dict[tuple[str, Path], Tree] | None = None
) -> FactsFile:
    """Read a facts file; `tree` (an id or a path) stands in for, and must agree with, the tree the file names.

    `trees` keeps loaded trees from one file to the next. Raises `Unreadable` or `Refused`.
    """
    try:
        document = toml.read(path, most_bytes=MOST_BYTES, lists=())
    except Unreadable as error:
        raise _with_answers(error, path, tree) from error.__cause__
    if "facts" not in document.data or "record" in document.data:
        from assistant.tree.otherwise import other_file

        other = other_file(document.data, document.name, "facts")
        if other is not None:
            raise Unreadable([other])
    reader = _Reader(document)
    named = reader.top()
    if tree is None and "tree" not in document.data:
        reader.slip(
            (), "no-tree", "the file does not say which tree it is for.",
            'Write `tree = "through-wall"` as its first line, or name it with --tree.',
        )  # fmt: skip
    reader.stop()
    wanted, beside = (tree, Path()) if tree is not None else (str(named), path.parent)
    trees = {} if trees is None else trees
    if (wanted, beside) not in trees:
        trees[wanted, beside] = load(wanted, beside)
    loaded = trees[wanted, beside]
    if named is not None and Path(named).name.removesuffix(".toml") != loaded.id:
        reader.slip(
            ("tree",), "other-tree", f'the file is for the tree "{named}", not for "{loaded.id}".',
            "Judge it under its own tree, or change its first line.",
        )  # fmt: skip
        reader.stop()
    facts = reader.facts(loaded)
    reader.stop()
    return FactsFile(loaded, facts)


def _with_answers(error: Unreadable, path: Path, named: str | None) -> Unreadable:
    """The same mistakes; a word without quotes is told with the answers that its question takes."""
    if not any(mistake.code in ("unquoted-text", "true-false") for mistake in error.mistakes):
        return error
    try:
        text = path.read_text(encoding="utf-8")
        own = re.search(r"""^\s*tree\s*=\s*["']([^"'\n]+)["']""", text, re.MULTILINE)
        if named is None and own is None:
            return error
        tree = load(named) if named is not None else load(own[1] if own else "", path.parent)
    except (Refused, OSError, ValueError):
        return error
    lines = text.removeprefix("\ufeff").splitlines()
    pattern = r"""\s*(["']?)(.+?)\1\s*=\s*([^#]*)"""
    mistakes = []
    for mistake in error.mistakes:
        pair = re.match(pattern, lines[mistake.place.line - 1]) if mistake.place else None
        question = tree.has_key(pair[2].strip()) if pair else None
        answers = expected_answer(question, pair[3].strip()) if pair and question else ""
        told = mistake.code in ("unquoted-text", "true-false") and answers
        mistakes.append(mistake._replace(hint=answers) if told else mistake)
    return Unreadable(mistakes, error.more)


class _Reader(Slips):
    def top(self) -> str | None:
        """Check the top of the file; give the tree it names."""
        data = self.document.data
        likely = set[str]()
        for key in data:
            if key not in ("format", "tree", "facts", "basis"):
                near = nearest(key, ["tree", "facts", "basis"])
                meant = "A facts file has `tree`, [facts] and, if wanted, [basis]."
                if near:
                    meant = f"Did you mean {'`tree`' if near == 'tree' else f'[{near}]'}?"
                    likely.add(near)
                if not isinstance(data[key], dict):
                    meant = f"If it is a fact, write it below the header [facts]. {meant}"
                self.slip((key,), "unknown-key", f"`{key}` is not a key of a facts file.", meant, key=True)
        if data.get("format", 1) != 1 or isinstance(data.get("format"), bool):
            self.slip(
                ("format",), "wrong-format", "this facts file is of another format.", "Write `format = 1`."
            )
        for key in ("facts", "basis"):
            if not isinstance(data.get(key, {}), dict):
                self.slip(
                    (key,), "wrong-value", f"`{key}` needs to be a table.", f"Write the header [{key}]."
                )
        if "facts" not in data and "facts" not in likely:
            self.slip(
                (),
                "missing-key",
                "the file has no [facts].",
                "Write the header [facts], and the facts below it.",
            )
        named = data.get("tree")
        if named is not None and not (isinstance(named, str) and named.strip()):
            self.slip(("tree",), "wrong-value", "`tree` needs the id or the path of a tree, in quotes.")
            return None
        return named

    def facts(self, tree: Tree) -> dict[str, Fact]:
        given: dict[str, Any] = self.document.data["facts"]
        bases: dict[str, Any] = self.document.data.get("basis", {})
        facts: dict[str, Fact] = {}
        for key, value in given.items():
            if len(self.mistakes) >= MOST_MISTAKES:
                break
            asked = self.asked(tree, "facts", key, value)
            if asked is None:
                continue
            basis = self.basis(key, bases.get(key, UNSTATED))
            try:
                fact = Fact(read_answer(asked.question, value), basis)
                admit(asked, fact)
            except Refused as error:
                self.slip(("facts", key), "wrong-answer", f"{key}: {error.message}.", error.hint)
                continue
            facts[key] = fact
        for key in bases:
            if len(self.mistakes) >= MOST_MISTAKES:
                break
            if key not in given and self.asked(tree, "basis", key, bases[key]) is not None:
                self.slip(
                    ("basis", key),
                    "no-fact",
                    f'"{key}" has a basis and no fact.',
                    "Write the fact too, or take it out.",
                )
        return facts

    def asked(self, tree: Tree, table: str, key: str, value: object) -> Asked | None:
        if isinstance(value, dict):
            lines = [f"{quoted(one)} = {_toml(leaf)}" for one, leaf in _leaves(tree, (key,), value)]
            self.slip(
                (table, key), "nested-key", f'"{key}" is a table; a fact key is one name in quotes.',
                f"Write it below [{table}] in one line: {lines[0]}" if len(lines) == 1
                else "\n".join([f"Write below [{table}], each in one line:", *lines[:MOST_LINES]]), key=True,
            )  # fmt: skip
            return None
        try:
            return tree.ask(key)
        except Refused as error:
            self.slip((table, key), "unknown-fact", f"{error.message}.", error.hint, key=True)
            return None

    def basis(self, key: str, basis: object) -> str:
        if basis in (*BASES, UNSTATED):
            return str(basis)
        near = nearest(basis, BASES) if isinstance(basis, str) else None
        listed = ", ".join(f'"{one}"' for one in BASES)
        self.slip(
            ("basis", key),
            "wrong-basis",
            f"{key}: this is not a basis.",
            f'Did you mean "{near}"?' if near else f"Write one of {listed}.",
        )
        return UNSTATED


def _leaves(tree: Tree, names: tuple[str, ...], value: object) -> Iterator[tuple[str, object]]:
    """Every value inside a table below [facts], with the fact key that its names were meant for."""
    if isinstance(value, dict) and value:
        for name, inner in value.items():
            yield from _leaves(tree, (*names, name), inner)
        return
    key = names[0] + "".join(f".{name}" if name.isdigit() else f"/{name}" for name in names[1:])
    yield tree.written_as(key) or key, value


def _toml(value: object) -> str:
    """A value as it would be written in one line; a long one is cut."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return f"[{', '.join(map(_toml, value))}]"
    if isinstance(value, str):
        return quoted(safely(value, 100))
    return str(value) if isinstance(value, int | Decimal) else "…"


def blank(tree: Tree) -> str:
    """A facts file with every key this tree could ask, quoted and explained, each line to be filled in or left.

    Of several things counted the first is explained in full; for the others it is said what is asked.
    """
    about = tree.file.tree
    lines = [
        f'# Facts for the tree "{tree.id}", edition {_line(about.edition)}: {_line(about.title)}',
        "# Take the # from a line and write the answer; leave out what you have not looked at.",
        f'# Where you looked and cannot tell, write "{NOT_SURE}".',
        "format = 1",
        f"tree = {quoted(tree.id if tree.installed else tree.document.name)}",
        "",
        "[facts]",
    ]
    labels: tuple[str, ...] = ()
    explained: set[tuple[str, str]] = set()
    for key in tree.every_key():
        asked = tree.ask(key)
        if asked.labels != labels:
            lines += [
                "",
                f"# {_about(asked.labels)}" if asked.labels else f"# No longer about {_about(labels)}",
            ]
            labels = asked.labels
        which = (asked.tree.id, asked.question_id)
        lines += [""] if which not in explained else []
        lines += _explained(asked.question) if which not in explained else _asked(asked.question)
        explained.add(which)
        lines.append(f'# "{key}" = {_example(asked.question)}')
    lines += ["", "[basis]", f"# How you know an answer, under the same key: {', '.join(BASES)}."]
    lines.append(f'# "{key}" = "{BASES[0]}"')
    return "\n".join(lines) + "\n"


def _line(text: str) -> str:
    """A text of several paragraphs in one: a comment ends with its line."""
    return " ".join(text.split())


def _about(labels: tuple[str, ...]) -> str:
    return " · ".join(map(_line, labels))


def _asked(question: Question) -> list[str]:
    import textwrap

    return textwrap.wrap(_line(question.ask), 96, initial_indent="# ", subsequent_indent="# ")


def _explained(question: Question) -> list[str]:
    lines = _asked(question)
    width = max((len(answer.id) for answer in question.answer), default=0)
    lines += [f"#   {answer.id:<{width}}  {_line(answer.says)}" for answer in question.answer]
    if question.least is not None and question.most is not None:
        unit = f" {question.unit}" if question.unit else ""
        lines.append(f"#   from {show(question.least)} to {show(question.most)}{unit}")
    if question.accept:
        lines.append(f"#   settled only by: {', '.join(question.accept)}")
    if question.must_answer:
        lines.append(f'#   must be answered: "{NOT_SURE}" is refused')
    return lines


def _example(question: Question) -> str:
    if question.kind == "choice":
        return f'"{question.answer[0].id}"'
    if question.kind == "several":
        return f'["{question.answer[0].id}"]'
    if question.kind == "note":
        return '"…"'
    least = question.least if question.least is not None else 0
    return show(least)
