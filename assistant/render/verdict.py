"""A judgement in sections, as it is told: the same ones for every face, the text output and the record.

Invariant: nothing here judges; every sentence is an author's or follows word for word from the judgement. The usual
cautions and who decides close every verdict.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from assistant.session.fact import UNSTATED
from assistant.session.judge import Judgement
from assistant.session.provenance import remarks, strangers
from assistant.session.walked import Found, Worked
from assistant.tree.answers import say_answer
from assistant.tree.model import NOT_SURE, Source, Working
from assistant.tree.tree import Tree

if TYPE_CHECKING:
    from assistant.session.putright import Remedy

__all__ = ["CAUTIONS", "Item", "Section", "cited", "headed", "requirement_words", "sections"]

CAUTIONS = (
    "Carbon monoxide kills without smell. Work on gas appliances and flues is for a registered gas engineer.",
    "This reasons from what it was told; it inspected nothing. The law, the maker's instructions for this appliance "
    "and flue, and the code in force where the building stands come first. The registered gas engineer decides.",
)

requirement_words = {
    "met": "met",
    "not-met": "NOT met",
    "not-proven": "not proven",
    "not-judged": "not judged",
}

OUTCOME_WORDS = {
    "acceptable": "Acceptable",
    "not-settled": "Not settled",
    "not-acceptable": "Not acceptable",
    "stop": "STOP",
}
CLASS_WORDS = {"at-risk": "At Risk", "immediately-dangerous": "Immediately Dangerous"}
EFFECT_ORDER = ("danger", "fails", "unproven", "meets", "advice")
WEAKNESS = ("assumed", UNSTATED, "told", "instructions", "measured", "seen")
LEADS = {"fitting": "New work:", "existing": "If it is in use:"}
"""How a step of `do` begins that is meant for one answer to `situation` alone."""
MOST_CAUSES = 4
"""Causes of a working's finding that are told one by one."""
UNPROVEN = "UNPROVEN TREE"
NOT_KNOWN = "We do not know yet if this is so. Until we know, please do what it says: "
"""How the householder is told what only some lines of reasoning come to: kept apart from the facts, still heeded."""
EFFORT_WORDS = {1: "minutes", 2: "up to an hour", 3: "a few hours", 4: "a day", 5: "more than a day"}


class Item(NamedTuple):
    """One thing told: a sentence, what it is marked as ("met"), and the lines below it."""

    text: str
    mark: str = ""
    below: tuple[str, ...] = ()


class Section(NamedTuple):
    """One heading and what stands under it."""

    id: str
    title: str
    items: tuple[Item, ...]
    mark: str = ""
    """What the whole section is marked as: a requirement's state in words."""


def sections(judgement: Judgement, remedies: Sequence[Remedy] = (), today: str = "") -> list[Section]:
    """Everything a finished judgement has to tell, in the order it is read; empty sections are left out.

    `today` (an ISO date) is held against the trees' `review-by`; without it nothing is said of that.
    """
    if judgement.outcome is None:
        return [_unfinished(judgement)]
    made = [
        Section("outcome", "Verdict", tuple(_outcome(judgement, today))),
        Section("do", "Do now", tuple(Item(step) for step in _steps(judgement))),
        *_requirements(judgement),
        Section("advice", "Advice", tuple(_findings(judgement, None))),
        Section("figures", "Figures", tuple(_figures(judgement))),
        Section("put-right", "Ways to put it right", tuple(_remedies(judgement, remedies))),
        Section("open", "Still to be found out", tuple(_open(judgement))),
        Section("basis", "How this is known", tuple(_basis(judgement))),
        Section("householder", "Tell the householder", tuple(_householder(judgement))),
        Section("cautions", "Always", tuple(Item(text) for text in _cautions(judgement))),
    ]
    return [section for section in made if section.items]


def _unfinished(judgement: Judgement) -> Section:
    asked = judgement.session.next
    items = []
    if asked is not None:
        about = " · ".join(asked.labels)
        items.append(
            Item(
                f"{about + ': ' if about else ''}{asked.question.ask}", asked.key, ("It has no answer yet.",)
            )
        )
    titles = {verdict.id: verdict.title for verdict in judgement.session.tree.file.verdict}
    possible = "; ".join(titles[name] for name in judgement.possible)
    if possible:
        items.append(Item(f"Still possible: {possible}"))
    return Section("unfinished", "Answers are missing", tuple(items))


def headed(judgement: Judgement, words: str) -> str:
    """The words that a verdict begins with; those of a tree that has not passed its proofs say so first."""
    return words if judgement.session.proven else f"{UNPROVEN} · {words}"


def _outcome(judgement: Judgement, today: str) -> Iterator[Item]:
    word = headed(judgement, OUTCOME_WORDS[judgement.outcome or "not-settled"])
    titles = {verdict.id: verdict.title for verdict in judgement.session.tree.file.verdict}
    if judgement.verdict is not None:
        yield Item(judgement.verdict.title, word, (judgement.verdict.says,))
    elif not judgement.possible:
        yield Item("No verdict of this tree matches what was found; treat it as not settled.", word)
    else:
        either = "; ".join(titles[name] for name in judgement.possible)
        same = judgement.outcome != "not-settled" or not judgement.open
        told = (
            "Whichever it is, the outcome is the same."
            if same
            else "What was left unsure could still turn it."
        )
        yield Item(told, word, (f"Possible: {either}",))
    yield from _likely_class(judgement)
    if not judgement.session.proven:
        yield Item("This tree has not passed its proofs: do not rely on its verdict.", "unproven")
    for remark in remarks(judgement.session.tree, today):
        yield Item(remark.text, remark.mark)


def _likely_class(judgement: Judgement) -> Iterator[Item]:
    """The likely class with what speaks for it; where no line of reasoning is bound to meet that, "if it is so"."""
    if judgement.likely_class is None:
        return
    behind = [found for found in judgement.findings if found.finding.unsafe == judgement.likely_class]
    sure = [judgement.certain(found) for found in behind]
    likely = (
        CLASS_WORDS[judgement.likely_class]
        if any(sure)
        else f"{CLASS_WORDS[judgement.likely_class]}, if it is so"
    )
    yield Item(
        f"Likely class: {likely}. The registered gas engineer decides the class.", "",
        tuple(
            found.finding.reason if certain else f"Not known yet: {found.finding.reason}"
            for found, certain in zip(behind, sure, strict=True)
        ),
    )  # fmt: skip


def _steps(judgement: Judgement) -> Iterator[str]:
    """What to do now; steps led by the words for another situation than this one are left out."""
    situation = judgement.walk.values.get("situation")
    lead = LEADS.get(situation) if isinstance(situation, str) else None
    for step in judgement.interim.do if judgement.interim else ():
        if lead is None:
            yield step
        elif step.startswith(lead):
            rest = step.removeprefix(lead).strip()
            yield rest[:1].upper() + rest[1:]
        elif not any(step.startswith(other) for other in LEADS.values()):
            yield step


def _requirements(judgement: Judgement) -> Iterator[Section]:
    file = judgement.session.tree.file
    for name, state in judgement.requirements.items():
        requirement = file.requirement[name]
        found = tuple(_findings(judgement, name))
        told = (Item(f"Wanted: {requirement.means}"), *found)
        yield Section(f"requirement-{name}", requirement.title, told, requirement_words[state])


def _findings(judgement: Judgement, requirement: str | None) -> Iterator[Item]:
    """The findings on one requirement, gravest first; None: the advice."""
    chosen = [
        found
        for found in judgement.findings
        if (found.finding.effect == "advice") == (requirement is None)
        and (requirement is None or found.finding.requirement == requirement)
    ]
    for found in sorted(chosen, key=lambda one: EFFECT_ORDER.index(one.finding.effect)):
        effect = found.finding.effect
        mark = effect if judgement.certain(found) else f"{effect}, if it is so"
        yield Item(found.finding.reason, mark, tuple(_because(judgement, found)))


def _because(judgement: Judgement, found: Found) -> Iterator[str]:
    """Which answers caused a finding, and where the rule comes from."""
    walk = judgement.walk
    causes = [key for key in found.causes if key in walk.asked]
    worked = [one for one in judgement.workings if found.id in _findings_of(one.working)]
    if worked and len(causes) > MOST_CAUSES:
        yield f"From {len(causes)} answers; the sum is under Figures."
        yield from _parting(worked[-1])
    else:
        said: dict[str, list[str]] = {}
        for key in causes:
            asked = walk.asked[key]
            answer = say_answer(asked.question, walk.values[key])
            said.setdefault(f"{asked.question.ask} {answer}.{_hint(judgement, key)}", []).extend(asked.labels)
        for text, labels in said.items():
            yield f"{', '.join(labels)}: {text}" if labels else text
    sources = [found.tree.file.source[name] for name in found.finding.source]
    if sources:
        yield "Source: " + "; ".join(cited(source) for source in sources)


def _findings_of(working: Working) -> set[str]:
    """What a working's bands can find."""
    return {name for band in working.band for name in band.finding}


def _parting(worked: Worked) -> Iterator[str]:
    """The joints that a restraint working could not hold."""
    joints = worked.results.get("joints")
    for number, joint in enumerate(joints if isinstance(joints, list | tuple) else (), 1):
        state = joint.get("state")
        if state not in (None, "holds"):
            way = f", {joint['direction']}" if joint.get("direction") else ""
            yield f"Joint {number}: {str(state).replace('-', ' ')}{way}."


def _hint(judgement: Judgement, key: str) -> str:
    """What was answered all the same, where the way it is known does not settle the question."""
    fact, asked = judgement.session.facts[key], judgement.walk.asked[key]
    if fact.settles(asked.question):
        return ""
    accepted = " or ".join(asked.question.accept or ())
    return f" You said {say_answer(asked.question, fact.value)}, but {fact.basis} does not settle it: {accepted} does."


def cited(source: Source) -> str:
    """A source as it is named to a person, with how firm it is."""
    standing = {"published": "", "common-practice": "common practice", "memory": "from memory"}[
        source.standing
    ]
    named = standing and standing in source.title.casefold()
    return ", ".join(filter(None, (source.title, source.part, source.edition, "" if named else standing)))


def _figures(judgement: Judgement) -> Iterator[Item]:
    """Each sum once. Run again with more known, the last one holds; where the lines differ, each says on what."""
    places: dict[tuple[str, str, str], list[Worked]] = {}
    for worked in judgement.workings:
        at = places.setdefault((worked.tree.id, worked.working.run, worked.step.rpartition("/")[0]), [])
        at[:] = [earlier for earlier in at if not _knows_all(worked.inputs, earlier.inputs)]
        at.append(worked)
    for sums in places.values():
        alike: dict[str, list[Worked]] = {}
        for worked in sums:
            alike.setdefault(worked.shown, []).append(worked)
        for shown, same in alike.items():
            name = same[0].working.run.replace("-", " ").capitalize()
            if shown:
                yield Item(name + _supposing(same, sums), "", tuple(shown.splitlines()))


def _knows_all(later: object, earlier: object) -> bool:
    """Whether later inputs hold all that the earlier ones did, and perhaps more."""
    if isinstance(later, Mapping) and isinstance(earlier, Mapping):
        return all(key in later and _knows_all(later[key], value) for key, value in earlier.items())
    if isinstance(later, list) and isinstance(earlier, list):
        return len(later) == len(earlier) and all(map(_knows_all, later, earlier))
    return later == earlier


def _supposing(same: Sequence[Worked], sums: Sequence[Worked]) -> str:
    """What a sum takes for granted and the others at its place do not: ", if outer material is steel"."""
    said = []
    for name, value in same[0].inputs.items():
        if isinstance(value, str) and any(
            other.inputs.get(name) != value for other in sums if other not in same
        ):
            values = dict.fromkeys(str(one.inputs.get(name, "not known")) for one in same)
            said.append(f"{name.replace('_', ' ')} is {' or '.join(values)}")
    return f", if {' and '.join(said)}" if said else ""


def _remedies(judgement: Judgement, remedies: Sequence[Remedy]) -> Iterator[Item]:
    if judgement.outcome == "acceptable":
        return
    for remedy in remedies:
        works = []
        for change in remedy.changes:
            about = " · ".join(change.asked.labels)
            works.append(f"{about + ': ' if about else ''}{change.work}")
        hardest = max(change.effort for change in remedy.changes)
        yield Item(
            f"Then it would be {OUTCOME_WORDS[remedy.outcome].lower()}. Hardest part: {EFFORT_WORDS[hardest]}.",
            "",
            tuple(works),
        )
    if not remedies and judgement.outcome == "not-acceptable":
        yield Item(
            "No work known to this tree puts it right by itself. Do not leave it in use; ask the maker."
        )


def _open(judgement: Judgement) -> Iterator[Item]:
    for unsure in judgement.open:
        about = " · ".join(unsure.asked.labels)
        find_out = unsure.find_out or unsure.asked.question.look
        yield Item(
            f"{about + ': ' if about else ''}{unsure.asked.question.ask}", "", (find_out,) if find_out else ()
        )
    for unsure in judgement.did_not_matter:
        about = " · ".join(unsure.asked.labels)
        yield Item(
            f"{about + ': ' if about else ''}{unsure.asked.question.ask} You were not sure; it makes no difference here.",
            "no matter",
        )


def _basis(judgement: Judgement) -> Iterator[Item]:
    """The weakest way of knowing among the answers that decided."""
    session, walk = judgement.session, judgement.walk
    deciding = dict.fromkeys(key for found in judgement.findings for key in found.causes if key in walk.asked)
    bases = {key: session.facts[key].basis for key in deciding if walk.values[key] != NOT_SURE}
    if not bases or set(bases.values()) == {UNSTATED}:
        return
    weakest = min(bases.values(), key=WEAKNESS.index)
    keys = [key for key, basis in bases.items() if basis == weakest]
    said = {"assumed": "assumed", UNSTATED: "given without saying how it is known"}.get(weakest, weakest)
    first = "; ".join(walk.asked[key].question.ask for key in keys[:3])
    more = f" and {len(keys) - 3} more" if len(keys) > 3 else ""
    yield Item(f"Weakest: {said} ({len(keys)} of {len(bases)} deciding answers).", "", (f"{first}{more}",))


def _householder(judgement: Judgement) -> Iterator[Item]:
    """What to tell the householder, each once; what only may be so is told as not yet known.

    A finding of effect "unproven" says itself what is not known.
    """
    certain: dict[str, bool] = {}
    for found in judgement.findings:
        words = found.finding.householder
        if words and not certain.get(words):
            certain[words] = found.finding.effect == "unproven" or judgement.certain(found)
    for words, sure in certain.items():
        yield Item(words if sure else f"{NOT_KNOWN}{words}")


def _cautions(judgement: Judgement) -> Sequence[str]:
    """What the tree defers to; a tree from elsewhere cannot leave out the usual cautions."""
    tree = judgement.session.tree
    return (*tree.file.tree.defer, *CAUTIONS) if strangers(tree) else tree.file.tree.defer


def tree_name(tree: Tree) -> str:
    """A tree as it is named on paper: title, id and edition."""
    return f"{tree.file.tree.title} ({tree.id}, edition {tree.file.tree.edition})"
