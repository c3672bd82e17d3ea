"""Trees and facts written as TOML text, with the head that every tree needs."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import tomli_w

from assistant.session.fact import UNSTATED, Fact
from assistant.session.judge import Judgement, judge
from assistant.session.session import Session
from assistant.tree.answers import read_answer
from assistant.tree.load import load_text
from assistant.tree.tree import Tree

Table = dict[str, Any]

REQUIREMENT = """
[requirement.{0}]
title = "{0}"
means = "It is {0}."
"""

VERDICTS = """
[[verdict]]
id = "sound"
title = "Sound"
says = "It may stay."
outcome = "acceptable"
do = []
when = { all = "met" }

[[verdict]]
id = "unsound"
title = "Unsound"
says = "It may not stay."
outcome = "not-acceptable"
do = ["Put it right."]
when = { any = "not-met" }

[[verdict]]
id = "open"
title = "Open"
says = "Nobody can say yet."
outcome = "not-settled"
do = ["Find out."]
"""

FINDINGS = """
[finding.good]
requirement = "sound"
effect = "meets"
reason = "It is as it should be."
source = "trade"

[finding.bad]
requirement = "sound"
effect = "fails"
reason = "It is not as it should be."
source = "trade"

[finding.unclear]
requirement = "sound"
effect = "unproven"
reason = "Nobody looked."
source = "trade"

[finding.worse]
requirement = "sound"
effect = "danger"
reason = "It harms somebody."
source = "trade"
unsafe = "immediately-dangerous"

[finding.note]
effect = "advice"
reason = "Worth knowing."
source = "trade"
"""


def head(first: str, tree_id: str = "small", requirements: tuple[str, ...] = ("sound",)) -> str:
    """The tables that say what a tree is, with one source and the requirements."""
    text = f"""
format = 1
[tree]
id = "{tree_id}"
title = "A tree of a few steps"
edition = "1"
purpose = "To be tried."
applies-to = "Tests."
place = "Nowhere"
first = "{first}"
defer = ["The engineer decides."]

[source.trade]
title = "Common practice of the trade"
standing = "common-practice"
"""
    return text.lstrip() + "".join(REQUIREMENT.format(name) for name in requirements)


def choice(name: str, *answers: str, more: str = "must-answer = true", unsure: str | None = None) -> str:
    """A choice question; an answer is "id", "id > then", "id ! finding" or "id ! finding > then"."""
    parts = [
        f'[question.{name}]\nkind = "choice"\nask = "What of {name}?"\nwhy = "It matters."\nlook = "Look."'
    ]
    parts.append('source = "trade"')
    parts.append(more if unsure is None else more.replace("must-answer = true", ""))
    if unsure is not None:
        parts.append(f"[question.{name}.not-sure]\n{unsure}")
    for answer in answers:
        rest, _, then = answer.partition(" > ")
        answer_id, _, finding = rest.partition(" ! ")
        parts.append(f'[[question.{name}.answer]]\nid = "{answer_id}"\nsays = "It is {answer_id}"')
        parts += [f'finding = "{finding}"'] if finding else []
        parts += [f'then = "{then}"'] if then else []
    return "\n".join(parts) + "\n"


def number(
    name: str, *bands: str, kind: str = "measure", unit: str = "mm", least: str = "0", most: str = "1000",
    more: str = "must-answer = true", unsure: str | None = None,
) -> str:  # fmt: skip
    """A measure or count question; a band is 'below = 3 ! finding > then', its three parts optional."""
    parts = [f'[question.{name}]\nkind = "{kind}"\nask = "How much is {name}?"\nwhy = "It matters."']
    parts.append(f'look = "Measure."\nsource = "trade"\nleast = {least}\nmost = {most}')
    parts += [f'unit = "{unit}"'] if unit else []
    parts.append(more if unsure is None else more.replace("must-answer = true", ""))
    if unsure is not None:
        parts.append(f"[question.{name}.not-sure]\n{unsure}")
    parts += [banded(f"question.{name}", band) for band in bands]
    return "\n".join(parts) + "\n"


def banded(table: str, band: str) -> str:
    """One band, written as for `number`."""
    rest, _, then = band.partition(" > ")
    end, _, finding = rest.partition(" ! ")
    lines = [f"[[{table}.band]]", end]
    lines += [f'finding = "{finding}"'] if finding else []
    lines += [f'then = "{then}"'] if then else []
    return "\n".join(lines)


def whole(
    body: str, first: str, *, tree_id: str = "small", requirements: tuple[str, ...] = ("sound",),
    findings: str = FINDINGS, verdicts: str = VERDICTS,
) -> str:  # fmt: skip
    """A whole tree round the steps of `body`."""
    return head(first, tree_id, requirements) + textwrap.dedent(body) + findings + verdicts


def tree(body: str, first: str, beside: Path | None = None, **rest: Any) -> Tree:
    """A whole tree round the steps of `body`, loaded."""
    return load_text(whole(body, first, **rest), f"{rest.get('tree_id', 'small')}.toml", beside)


def session(tree: Tree, facts: Mapping[str, object], basis: Mapping[str, str] | None = None) -> Session:
    """A session with facts given as in a facts file."""
    read = {
        key: Fact(read_answer(tree.ask(key).question, value), (basis or {}).get(key, UNSTATED))
        for key, value in facts.items()
    }
    return Session(tree, read)


def judged(tree: Tree, facts: Mapping[str, object], basis: Mapping[str, str] | None = None) -> Judgement:
    """The judgement on facts given as in a facts file."""
    return judge(session(tree, facts, basis))


def dumped(data: Table) -> str:
    """Tables as TOML text; exact fractions as decimals."""
    return tomli_w.dumps(_plain(data))


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    if isinstance(value, Fraction):
        exact = Decimal(value.numerator) / Decimal(value.denominator)
        assert Fraction(exact) == value
        return exact
    return value
