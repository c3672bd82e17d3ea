"""What a tree names, looked up: its ids, its tables, its ways on, and its fact keys.

Invariant: whatever is named and is not there is noted with the nearest name that is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence

from assistant.tree.installed import ID
from assistant.tree.mistakes import Label, nearest, safely
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
            write = "-".join(re.findall("[a-z0-9]+", name[:60].casefold())).lstrip("0123456789-")
            self.slip(
                path,
                "bad-id",
                f'"{name}" cannot be an id.',
                "An id is lower-case letters, digits and dashes, and begins with a letter: "
                f"{write or 'held-by'}.",
                key=key,
            )
        elif name in RESERVED:
            self.slip(
                path,
                "reserved-id",
                f'"{name}" means something to the engine and cannot be an id.',
                self.instead(path, name),
                key=key,
            )

    @staticmethod
    def instead(path: Path, name: str) -> str:
        """What to write where one of the words that are taken was chosen as an id."""
        if name == "not-sure":
            if path[0] == "question" and len(path) > 2:
                return (
                    f"Not sure is no answer among the others: write its lines below [question.{path[1]}.not-sure], "
                    "without `id` and `says`."
                )
            return "Choose another word, such as not-known."
        if name == "end":
            return (
                'Choose another word, such as last. To end the talk no step is needed: write `then = "end"`.'
            )
        if path[0] == "requirement":
            return f"Choose another word: in a verdict's `when`, `{name}` speaks of all requirements at once."
        return f"Choose another word, such as {name}-of-them."

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
        missing = listed
        if kind in ("finding", "source", "requirement"):
            header = f"a [{kind}.{name}] table" if ID.fullmatch(name) else f"a [{kind}.…] table"
            missing = f"Write {header}, or name another."
        self.slip(
            path,
            f"unknown-{kind}",
            f'{owner} has no {kind} "{name}".' if owner else f'there is no {kind} "{name}".',
            self.meant(path, name, among, kind) or (f'Did you mean "{near}"?' if near else missing),
            key=key,
            also=[also()] if also is not None else (),
        )
        return False

    def meant(self, path: Path, name: str, among: Collection[str], kind: str) -> str:
        """What was surely meant by a name that is not there: another spelling, a title, several in one; or nothing."""
        from assistant.tree.meant import LOWER_CASE, alike, several_meant, titled

        spelt = alike(name, among)
        if spelt:
            return f'Did you mean "{spelt}"?' + (f" {LOWER_CASE}" if spelt == name.casefold() else "")
        other = self.other_kind(name, kind)
        if other:
            return other
        if self.compared > MOST_COMPARED:
            return ""
        called = titled(name, self.words(kind, among))
        if called:
            what = {"finding": "reason", "question": "wording", "answer": "wording"}.get(kind, "title")
            return f'That is its {what}; write its id: "{called}".'
        several = (
            several_meant(name, among)
            if kind in ("finding", "source") and isinstance(path[-1], str)
            else None
        )
        if several:
            listed = ", ".join(f'"{one}"' for one in several)
            return f"Several are a list: {path[-1]} = [{listed}]"
        return ""

    def other_kind(self, name: str, wanted: str) -> str:
        """What to say where the name is there, but names a thing of another kind; nothing where it does not."""
        file = self.file
        if wanted in ("answer", "input", "result", "working", "each"):
            return ""
        kinds: dict[str, Collection[str]] = {
            "requirement": file.requirement, "source": file.source, "finding": file.finding, "verdict": self.verdicts,
            **{kind: getattr(file, kind) for kind in STEP_KINDS},
        }  # fmt: skip
        kind = next((one for one, names in kinds.items() if name in names and one != wanted), "")
        if (
            wanted == "step"
            and not kind
            and any(name in (answer.id for answer in one.answer) for one in file.question.values())
        ):
            kind = "answer"
        article = "an" if kind[:1] in ("a", "e") else "a"
        needed = {"step": "`then` leads to a step", "question": "here stands the id of a question"}.get(
            wanted, f"here stands the id of a {wanted}"
        )
        return f'"{name}" is {article} {kind}; {needed}.' if kind else ""

    def words(self, kind: str, among: Collection[str]) -> dict[str, list[str]]:
        """What the things of a kind are called in words, by their ids."""
        file = self.file
        everything: dict[str, dict[str, list[str]]] = {
            "requirement": {name: [one.title, one.means] for name, one in file.requirement.items()},
            "source": {name: [one.title, f"{one.title} {one.part}"] for name, one in file.source.items()},
            "finding": {name: [one.reason, one.householder or ""] for name, one in file.finding.items()},
            "question": {name: [one.ask] for name, one in file.question.items()},
            "verdict": {one.id: [one.title, one.says] for one in file.verdict},
            "answer": {answer.id: [answer.says, *answer.also] for one in file.question.values() for answer in one.answer},
        }  # fmt: skip
        return {name: said for name, said in everything.get(kind, {}).items() if name in among}

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
        if end and target.startswith("verdict:") and not target.removeprefix("verdict:").startswith(" "):
            self.named(path, target.removeprefix("verdict:"), self.verdicts, "verdict")
            return
        self.slip(
            path, "unknown-step", f'there is no step "{safely(target, 80)}" to go on to.',
            self.way_meant(target, end)
            or self.steps_there_are() + (', or write "end".' if end else "."),
        )  # fmt: skip

    def way_meant(self, target: str, end: bool) -> str:
        """What a way on that leads nowhere was meant to be: a step, the end, a verdict, or a question's wording."""
        from assistant.tree.meant import LOWER_CASE, alike, end_meant, titled

        step = alike(target, self.steps)
        if step:
            return f'Did you mean "{step}"?' + (f" {LOWER_CASE}" if step == target.casefold() else "")
        verdict = alike(target, self.verdicts) if end else None
        if verdict:
            return f'Did you mean "verdict:{verdict}"?'
        if self.compared <= MOST_COMPARED:
            asked = titled(target, self.words("question", self.steps))
            if asked:
                return f'That is its wording; write its id: "{asked}".'
            called = titled(target, self.words("verdict", self.verdicts)) if end else None
            if called:
                return f'That is its title; write its id: "verdict:{called}".'
        other = self.other_kind(target, "step")
        if other:
            return f"{other} {self.steps_there_are()}" + (', or write "end".' if end else ".")
        if end and end_meant(target):
            return 'Did you mean "end"? It gives the first verdict that fits.'
        near = self.near(target, [*self.steps, *(["end"] if end else [])])
        if near is None and end:
            head, _, rest = target.partition(":")
            verdict = self.near(
                rest.strip() if rest and nearest(head, ["verdict"]) else target, list(self.verdicts)
            )
            near = f"verdict:{verdict}" if verdict else None
        return f'Did you mean "{near}"?' if near else ""

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
