"""What is wrong with a file, as its author reads it: the place, the line with a caret, and what to write instead.

Invariant: nothing from a file reaches the terminal as a control code, and colour only repeats what is said in words.
"""

from __future__ import annotations

import re
import textwrap
import unicodedata
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from difflib import get_close_matches
from typing import Any

from assistant.errors import Refused
from assistant.tree.codes import CODES, GROUPS
from assistant.tree.mistakes import Label, Mistake, Place, safely

__all__ = [
    "MOST_ALIKE",
    "Paint",
    "Texts",
    "complaint_data",
    "complaint_text",
    "complaints_text",
    "ended",
    "explained",
    "plainly",
]

WIDTH = 80
MOST_ALIKE = 10
"""Complaints of one code in one file that are told in full; of the others, their number and lines."""
MOST_ANSWERS = 16
"""Lines of a witness that are told where the complaint is."""
MOST_LINES = 12
"""Lines that are listed for those."""

Texts = Callable[[str], str | None]
"""From a file as a mistake names it to its text; None where it cannot be had."""
Paint = Callable[[str, str], str]
"""Colours a text by what it is: "place", "code", "caret" or "help"."""

_WORD = re.compile(r'"""|\'\'\'|"(?:[^"\\]|\\.)*"|\'[^\']*\'|\[+[^\[\]]*\]+|“[^”“]*”|[+-]?\d+[.,]\d+|[\w+-]+')
"""What a caret underlines: a text in its quotes, a header in its brackets, a name or a number."""


def plainly(role: str, text: str) -> str:
    """Paint nothing: for a pipe, a log, or where NO_COLOR is set."""
    return text


def complaints_text(
    mistakes: Iterable[Mistake], texts: Texts, width: int | None = None, paint: Paint = plainly,
    shows: Mapping[Mistake, str] | None = None, remark: bool = False,
) -> str:  # fmt: skip
    """Every complaint in the order given, a blank line between, many alike cut short.

    `shows` are the commands that show a complaint by its written witness; a witness not written is told whole.
    """
    mistakes = list(mistakes)
    alike: Counter[tuple[str, str]] = Counter()
    lines: dict[tuple[str, str], list[str]] = {}
    for mistake in mistakes:
        kind = mistake.file, mistake.code
        alike[kind] += 1
        if alike[kind] > MOST_ALIKE:
            lines.setdefault(kind, []).append(str(mistake.place.line) if mistake.place else "?")
    parts, seen = [], Counter[tuple[str, str]]()
    for mistake in mistakes:
        kind = mistake.file, mistake.code
        seen[kind] += 1
        if seen[kind] <= MOST_ALIKE:
            show = (shows or {}).get(mistake, "")
            parts.append(complaint_text(mistake, texts, width, paint, show=show, remark=remark))
        elif seen[kind] == MOST_ALIKE + 1:
            left = list(dict.fromkeys(lines[kind]))
            listed = ", ".join(left[:MOST_LINES]) + (" …" if len(left) > MOST_LINES else "")
            more = (
                f"{safely(mistake.file, 400)}: {mistake.code}: and {len(lines[kind])} more like this, in line"
            )
            parts.append(
                "\n".join(_wrapped(f"{more}{'s' if len(left) > 1 else ''} {listed}", width, "", "    "))
            )
    return "\n\n".join(parts)


def complaint_text(
    mistake: Mistake, texts: Texts, width: int | None = None, paint: Paint = plainly, *, coded: bool = True,
    show: str = "", remark: bool = False,
) -> str:  # fmt: skip
    """One complaint: place and message, the line with a caret, the other places, help, and what shows it.

    `width` is that of the terminal; without it messages keep to one line, for programs that read them.
    """
    where = f"{mistake.where}:"
    code = f" {'remark: ' if remark else ''}{mistake.code}:" if coded else ""
    lines = _wrapped(f"{where}{code} {_safe(mistake.message)}", width, "", "    ")
    if lines[0].startswith(where + code):
        lines[0] = paint("place", where) + paint("code", code) + lines[0][len(where + code) :]
    gutter = max(
        (len(str(place.line)) for place in (mistake.place, *(one.place for one in mistake.also)) if place),
        default=1,
    )
    here = Label(mistake.place, "", mistake.file) if mistake.place else None
    file = mistake.file
    for label in [*([here] if here else []), *mistake.also]:
        if label.file and label.file != file:
            file = label.file
            lines.append(f"  {' ' * gutter}in {paint('place', f'{safely(file, 400)}:{label.place}')}")
        lines += _pointed(
            texts(label.file or mistake.file), label.place, gutter, _safe(label.says), width, paint
        )
    if mistake.hint:
        for number, piece in enumerate(mistake.hint.split("\n")):
            lines += _wrapped(_safe(piece), width, "        " if number else "  help: ", "        ")
    if show:
        lines.append(f"  see it: {show}")
    elif mistake.witness:
        lines += _answers(mistake.witness)
    return "\n".join(_painted(line, paint) for line in lines)


def _answers(witness: str) -> list[str]:
    """A witness as it is copied into a facts file; a long one is only counted."""
    lines = [line for line in witness.split("\n") if line.strip() and not line.startswith("#")]
    if len(lines) > MOST_ANSWERS:
        return [f"  {len(lines) - 2} answers show it: --witnesses DIR writes them down, for `judge`."]
    return [
        "  these answers show it, as a facts file:",
        *(f"    {safely(line, 400)}" for line in lines),
        "  see it: save them as facts.toml, then type: throughwall judge --unproven facts.toml",
    ]


def _painted(line: str, paint: Paint) -> str:
    for role, head in (("help", "  help:"), ("help", "  see it:"), ("help", "  these answers show it,")):
        if line.startswith(head):
            return paint(role, head) + line[len(head) :]
    return line


def _safe(text: str) -> str:
    return "".join(sign if sign.isprintable() else "·" for sign in text)


def _wrapped(text: str, width: int | None, first: str, rest: str) -> list[str]:
    if width is None:
        return [first + text]
    return textwrap.wrap(
        text, max(width - 1, 30), initial_indent=first, subsequent_indent=rest, break_long_words=False,
        break_on_hyphens=False,
    ) or [first]  # fmt: skip


def _pointed(
    text: str | None, place: Place, gutter: int, says: str, width: int | None, paint: Paint
) -> list[str]:
    """The line of `text` at `place` with its number, and below it a caret under the place and what stands there."""
    lines = (text or "").split("\n", place.line)
    if text is None or len(lines) < place.line:
        return []
    line = lines[place.line - 1].rstrip("\r")
    room = (width or WIDTH) - gutter - 8
    start, at = 0, place.column - 1
    if len(line) > room and at > room * 2 // 3:
        start = at - room // 2
    word = _WORD.match(line, at)
    piece = line[start : start + room]
    end = min(word.end() if word else at + 1, start + room)
    before = "…" if start else ""
    after = "…" if start + room < len(line) else ""
    shown = before + _safe(piece.replace("\t", " ").rstrip()) + after
    caret = " " * (len(before) + _columns(piece[: at - start])) + paint(
        "caret", "^" * max(1, _columns(line[at:end]))
    )
    blank = " " * gutter
    below = len(before) + _columns(piece[: end - start]) + 1
    told = [f"  {blank} | {caret}"]
    if says and below + len(says) <= room:
        told = [f"{told[0]} {says}"]
    elif says:
        told += [f"  {blank} | {part}" for part in textwrap.wrap(says, room)]
    return [f"  {place.line:>{gutter}} | {shown}", *told]


def _columns(text: str) -> int:
    """How many columns of a terminal a text fills."""
    return sum(
        0 if unicodedata.combining(sign) else 2 if unicodedata.east_asian_width(sign) in "WF" else 1
        for sign in text
    )


def complaint_data(mistake: Mistake) -> dict[str, Any]:
    """A complaint for programs; a place that is not known is null, and nothing is cut short."""
    return {
        "file": mistake.file,
        "line": mistake.place.line if mistake.place else None,
        "column": mistake.place.column if mistake.place else None,
        "code": mistake.code,
        "message": mistake.message,
        "hint": mistake.hint,
        "also": [
            {
                "file": one.file or mistake.file,
                "line": one.place.line,
                "column": one.place.column,
                "says": one.says,
            }
            for one in mistake.also
        ],
        "witness": mistake.witness or None,
    }


def explained(code: str, width: int | None = None) -> str:
    """What a code means and how it is mended. Raises `Refused` where there is none of that name."""
    wanted = code.strip().casefold()
    if wanted not in CODES:
        near = get_close_matches(wanted[:60], CODES, n=1, cutoff=0.5)
        hint = f'Did you mean "{near[0]}"?' if near else f"There are: {', '.join(sorted(CODES))}."
        raise Refused(f'there is no code "{safely(code, 60)}"', hint)
    entry = CODES[wanted]
    group = f"{entry.group}. {GROUPS[entry.group]}" if entry.group else GROUPS[0]
    lines = [wanted, ""]
    for head, text in (("Group: ", group), ("What it means: ", entry.means), ("What to do: ", entry.mend)):
        lines += _wrapped(text, width, head, "  ")
    return "\n".join(lines)


def ended(
    file: str, complaints: Sequence[Mistake], remarks: Sequence[Mistake], loaded: bool, proven: bool
) -> str:
    """What came of one tree, in one line."""
    said = "passed" if proven else "no fault found, but could not be proven"
    if complaints:
        said = f"{len(complaints)} fault{'s' if len(complaints) > 1 else ''}"
    if remarks:
        said += f", {len(remarks)} remark{'s' if len(remarks) > 1 else ''}"
    if complaints and not loaded and complaints[0].code != "other-file":
        said += f". The rest is looked at once {'this is' if len(complaints) == 1 else 'these are'} mended."
    return f"{safely(file, 400)}: {said}"
