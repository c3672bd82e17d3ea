"""Headers that are missing: which lines tell of one, and what it most likely said.

Invariant: a name is guessed only where it is referred to and has no table of its own.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from assistant.tree.scalars import Finding

__all__ = ["KINDS", "STEPS", "folded", "header_above", "lost_header", "lost_names"]

STEPS = ("question", "recall", "working", "visit", "each")
KINDS = (*STEPS, "finding", "source", "requirement")
"""Tables that have an id after a dot."""
MOST_READ = 4_000_000
"""Characters of a text that is searched for names."""
MOST_OFFERED = 3

_HEADER = re.compile(r"^[ \t]*(\[\[?)[ \t]*([\w.-]+)[ \t]*\]\]?", re.MULTILINE)
_REFERS = re.compile(
    r"""^[ \t]*(then|first|finding|source|requirement|question)[ \t]*=[ \t]*(\[[^\]]*\]|"[^"\n]*"|'[^'\n]*')""",
    re.MULTILINE,
)
_NAME = re.compile(r"""["']([a-z][a-z0-9-]*)["']""")


def lost_names(text: str, kind: str) -> list[str]:
    """Names of this kind that the text refers to and that have no table."""
    if len(text) > MOST_READ:
        return []
    step = kind in STEPS
    defined, hinted = set[str](), dict[str, None]()
    for _, header in _HEADER.findall(text):
        parts = header.split(".")
        if len(parts) == 2 and (parts[0] in STEPS if step else parts[0] == kind):
            defined.add(parts[1])
        elif len(parts) > 2 and parts[0] == kind:
            hinted[parts[1]] = None
    told = [name for name in hinted if name not in defined]
    if told:
        return told
    for key, value in _REFERS.findall(text):
        if key == kind or (step and key in ("then", "first")) or (key, kind) == ("question", "question"):
            hinted.update(dict.fromkeys(_NAME.findall(value)))
    return [name for name in hinted if name not in defined and name != "end"]


def lost_header(text: str, kind: str) -> tuple[str, bool]:
    """The header that is most likely missing, and whether it is known whole."""
    if kind == "tree":
        return "[tree]", True
    if kind in ("verdict", "moved"):
        return f"[[{kind}]]", True
    names = lost_names(text, kind)
    return (f"[{kind}.{names[0]}]", True) if len(names) == 1 else (f"[{kind}.…]", False)


def header_above(text: str, line: int, kinds: Sequence[str] = ("question",)) -> str:
    """The id in the last header of one of these kinds above a line; nothing where there is none."""
    above = "\n".join(text.split("\n", line)[: line - 1])
    found = [header.split(".") for _, header in _HEADER.findall(above)]
    return next((parts[1] for parts in reversed(found) if parts[0] in kinds and len(parts) > 1), "")


def folded(findings: Sequence[Finding], text: str) -> list[Finding]:
    """The same findings, those that one missing header has caused being told as that one."""
    told: list[Finding] = []
    groups: dict[int, list[Finding]] = {}
    for finding in findings:
        if finding.code == "duplicate-key" and len(finding.also) == 2:
            groups.setdefault(finding.also[1][0], []).append(finding)
    missing = {at: group for at, group in groups.items() if len(group) > 1 and text[at : at + 1] == "["}
    broken = [
        finding.at
        for finding in findings
        if finding.code in ("missing-bracket", "missing-equals", "unquoted-key")
    ]
    told_already = {at for at, group in missing.items() if any(at < one < group[0].at for one in broken)}
    for finding in findings:
        at = finding.also[1][0] if finding.code == "duplicate-key" and len(finding.also) == 2 else -1
        if at not in missing:
            told.append(finding)
        elif at not in told_already and finding is missing[at][0]:
            told.extend(_missing(at, missing[at], text))
    return told


def _missing(at: int, group: Sequence[Finding], text: str) -> Iterator[Finding]:
    """One fault a header that is missing; a name that comes back once more tells of one more."""
    header = _HEADER.match(text, text.rfind("\n", 0, at) + 1)
    if header is None:
        yield from group
        return
    parts = header[2].split(".")
    likely, sure = f"{header[1]}{header[2]}{']' * len(header[1])}", True
    if len(header[1]) == 1:
        likely, sure = (
            lost_header(text, parts[0]) if parts[0] in KINDS and len(parts) == 2 else ("[…]", False)
        )
    seen = set[str]()
    for finding in group:
        key = text[finding.at : text.find("=", finding.at)].strip()
        if seen and key not in seen:
            seen.add(key)
            continue
        seen = {key}
        start = _block(finding.at, header.end(), text)
        line = text.count("\n", 0, start) + 1
        yield Finding(
            start,
            "missing-header",
            f"A header is missing above line {line}" + (f", likely {likely}." if sure else "."),
            f"Write {likely} on a line of its own above line {line}.",
            ((at, "this header has all these lines now, some of them twice"),),
        )


def _block(at: int, after: int, text: str) -> int:
    """Where the lines begin that a line belongs to: below the last blank line, if that is below the header."""
    blanks = [blank.end() for blank in re.finditer(r"\n[ \t]*\n[ \t\n]*(?=\S)", text[after:at])]
    return after + blanks[-1] if blanks else text.rfind("\n", 0, at) + 1
