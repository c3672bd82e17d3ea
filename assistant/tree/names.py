"""What a tree names, looked up: its ids, its tables, its ways on, and its fact keys.

Invariant: whatever is named and is not there is noted with the nearest name that is.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence

from assistant.tree.installed import ID
from assistant.tree.mistakes import Label, nearest
from assistant.tree.model import RESERVED, Question, TreeFile
from assistant.tree.slips import Path, Slips
from assistant.tree.toml import Document
from assistant.tree.tree import Tree

__all__ = ["STEP_KINDS", "Names"]

MOST_LISTED = 12
"""Names that a hint lists in full."""
MOST_COMPARED = 100_000
"""Names that are looked through for those that were meant, in one file."""
STEP_KINDS = ("question", "recall", "working", "visit", "each")


class Names(Slips):
    """What a tree names, looked up: its own ids, its tables, its steps and its fact keys."""

    def __init__(
        self,
        file: TreeFile,
        document: Document,
        parts: Mapping[str, Tree | None],
        broken: Collection[Path] = (),
    ) -> None:
        super().__init__(document)
        self.broken = frozenset(broken)
        self.above = {table[:depth] for table in broken for depth in range(len(table))}
        """What holds a broken table."""
        self.file = file
        self.parts = parts
        self.steps = dict.fromkeys(name for kind in STEP_KINDS for name in getattr(file, kind))
        self.verdicts = dict.fromkeys(verdict.id for verdict in file.verdict)
        self.compared = 0

    def slip(
        self,
        path: Path,
        code: str,
        message: str,
        hint: str = "",
        key: bool = False,
        also: Sequence[Label] = (),
    ) -> None:
        """Note a mistake, unless its table is known to be broken already."""
        inside = any(path[:depth] in self.broken for depth in range(len(path) + 1))
        if not inside and path not in self.above:
            super().slip(path, code, message, hint, key, also)

    # Ids

    def ids(self) -> None:
        """Every id: well formed, not reserved, not given twice."""
        seen: dict[str, str] = {}
        for kind in ("requirement", "source", *STEP_KINDS, "finding"):
            for name in getattr(self.file, kind):
                self.id((kind, name), name)
                if kind in STEP_KINDS and name in seen:
                    self.slip(
                        (kind, name),
                        "same-id",
                        f'"{name}" names a {seen[name]} already.',
                        "Steps share one set of ids; give one of the two another.",
                        key=True,
                        also=[self.label((seen[name], name), f"the {seen[name]} of this name")],
                    )
                if kind in STEP_KINDS:
                    seen[name] = kind
        self.id(("tree", "id"), self.file.tree.id, key=False)
        self.unique([(("verdict", i, "id"), v.id) for i, v in enumerate(self.file.verdict)], "verdict")
        for name, question in self.file.question.items():
            self.unique(
                [(("question", name, "answer", i, "id"), a.id) for i, a in enumerate(question.answer)],
                "answer",
            )
        for name, recall in self.file.recall.items():
            rows = [(("recall", name, "answer", i, "id"), a.id) for i, a in enumerate(recall.answer)]
            self.unique(rows, "answer", shape=False)

    def id(self, path: Path, name: str, key: bool = True) -> None:
        """One id: well formed and not reserved."""
        if not ID.fullmatch(name):
            self.slip(
                path,
                "bad-id",
                f'"{name}" cannot be an id.',
                "An id is lower-case letters, digits and dashes, and begins with a letter: held-by.",
                key=key,
            )
        elif name in RESERVED:
            self.slip(
                path,
                "reserved-id",
                f'"{name}" means something to the engine and cannot be an id.',
                "Choose another word.",
                key=key,
            )

    def unique(self, ids: Iterable[tuple[Path, str]], kind: str, shape: bool = True) -> None:
        """Ids in a list, of which none may stand twice."""
        seen: dict[str, Path] = {}
        for path, name in ids:
            if shape:
                self.id(path, name, key=False)
            if name in seen:
                self.slip(
                    path, "same-id", f'there are two {kind}s "{name}" here.', "Give one of them another id.",
                    also=[self.label(seen[name], "the first of them", key=False)],
                )  # fmt: skip
            seen.setdefault(name, path)

    # Names of things elsewhere

    def near(self, name: str, names: Sequence[str]) -> str | None:
        """The nearest of these names; None where none is near, or so many were looked through that it would take long."""
        self.compared += len(names)
        return nearest(name, names) if self.compared <= MOST_COMPARED else None

    def named(
        self, path: Path, name: str, among: Collection[str], kind: str, key: bool = False, owner: str = "",
        also: Callable[[], Label] | None = None,
    ) -> bool:  # fmt: skip
        """Whether `name` is one of those there are, or of those that its `owner` has, which `also` points at."""
        if name in among:
            return True
        names = list(among)
        near = self.near(name, names)
        listed = f"There are: {', '.join(names)}." if 0 < len(names) <= MOST_LISTED else ""
        missing = (
            f"Write a [{kind}.{name}] table, or name another."
            if kind in ("finding", "source", "requirement")
            else listed
        )
        self.slip(
            path,
            f"unknown-{kind}",
            f'{owner} has no {kind} "{name}".' if owner else f'there is no {kind} "{name}".',
            f'Did you mean "{near}"?' if near else missing,
            key=key,
            also=[also()] if also is not None else (),
        )
        return False

    def sources(self, table: Path, sources: tuple[str, ...]) -> None:
        """Sources that are there."""
        for source in sources:
            self.named((*table, "source"), source, self.file.source, "source")

    def findings(self, table: Path, findings: tuple[str, ...]) -> None:
        """Findings that are there."""
        for finding in findings:
            self.named((*table, "finding"), finding, self.file.finding, "finding")

    def way(self, path: Path, target: str, end: bool = True) -> None:
        """A way on that leads to a step, to the end, or to a verdict."""
        if target in self.steps or (end and target == "end"):
            return
        if end and target.startswith("verdict:"):
            self.named(path, target.removeprefix("verdict:"), self.verdicts, "verdict")
            return
        near = self.near(
            target, [*self.steps, *(["end", *(f"verdict:{v}" for v in self.verdicts)] if end else [])]
        )
        self.slip(
            path, "unknown-step", f'there is no step "{target}" to go on to.',
            f'Did you mean "{near}"?' if near else self.steps_there_are() + (', or write "end".' if end else "."),
        )  # fmt: skip

    def steps_there_are(self) -> str:
        """The steps that a `then` may name, where they are few enough to be read."""
        if 0 < len(self.steps) <= MOST_LISTED:
            return f"Name a step of this tree: {', '.join(self.steps)}"
        return "Name a question, recall, working, visit or each of this tree"

    # Fact keys as written in this tree

    def fact_key(self, path: Path, key: str, star: bool = False) -> None:
        """A fact key that this tree can answer; `star`: or the things of an each."""
        if star and key.endswith(".*"):
            self.named(path, key.removesuffix(".*"), self.file.each, "each")
            return
        if self.question_at(key) is None and not self.unknowable(key):
            names = [*self.file.question, *(f"{each}.*" for each in self.file.each if star)]
            near = self.near(key, names)
            self.slip(
                path,
                "unknown-fact",
                f'there is no fact "{key}" in this tree.',
                f'Did you mean "{near}"?'
                if near
                else "Name a question of this tree, or of a tree it visits as visit/question.",
            )

    def unknowable(self, key: str) -> bool:
        """Whether the key runs through a tree that could not be loaded, which is told elsewhere."""
        head = key.split("/")[0].partition(".")[0]
        step = self.file.visit.get(head) or self.file.each.get(head)
        return "/" in key and step is not None and self.parts.get(step.tree) is None

    def question_at(self, key: str) -> Question | None:
        """The question behind a fact key as written in this tree, or None."""
        if "/" not in key:
            return self.file.question.get(key)
        head, _, rest = key.partition("/")
        name, _, item = head.partition(".")
        step = self.file.each.get(name) if item else self.file.visit.get(name)
        part = self.parts.get(step.tree) if step is not None else None
        if part is None or step is None:
            return None
        return part.has_key(rest)
