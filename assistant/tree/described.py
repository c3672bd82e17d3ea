"""What every table and key of a tree is for, in the words that the reference and the schema both use.

Invariant: one entry for every key of every table of the model, and no other; tests hold that. Only the reference and
the schema are made from it, so nothing that judges or talks imports it.
"""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["TABLES", "Told", "ToldTable"]


class Told(NamedTuple):
    """What one key takes (a name in `schema.TAKES`), and what it says."""

    takes: str
    says: str
    needed: str = ""
    """When it has to be there, where that hangs on other keys."""


class ToldTable(NamedTuple):
    """A table as its author writes its header, what it is, and its keys."""

    header: str
    says: str
    keys: dict[str, Told]


THEN = Told("then", "What comes next: a step's id, `end`, or `verdict:` and the id of a verdict.")
FINDING = Told("ids", "What this shows: the id of a [finding.…] table, or a list of ids.")
SOURCE = Told("ids", "Where it comes from: the id of a [source.…] table, or a list of ids.")
NOT_SURE = Told("table", "What follows from not sure: the table [….not-sure].")
BANDS = Told("tables", "The stretches of numbers: [[….band]] tables, from the smallest to the largest.")
GIVEN = Told(
    "given",
    "Questions of that tree that are answered from here: its question = the fact key here. They are not asked.",
)
SET = Told("set-answers", "Questions of that tree that you answer yourself: its question = the answer.")

BRANCH = {
    "seen": Told(
        "text", "What an inspector would see where this is the answer; practice cases are written with it."
    ),
    "finding": FINDING,
    "then": THEN._replace(
        says=f"{THEN.says} Without it, the `then` of the whole table counts.",
        needed="needed where the table above has none",
    ),
    "put-right": Told("text", "The work that brings this answer about; it is offered to put a flue right."),
    "effort": Told("effort", "How much that work takes, from 1 (minutes) to 5.", "needed with `put-right`"),
}

TABLES: dict[str, ToldTable] = {
    "TreeFile": ToldTable(
        "the top of the file",
        "A tree is one file. These are its tables; only `format` is a key, and it stands first.",
        {
            "format": Told("one", "The version of this format: `format = 1`."),
            "tree": Told("table", "What the tree is for, and where it begins: [tree]."),
            "requirement": Told("named", "What a verdict must speak to: [requirement.<id>] tables."),
            "source": Told("named", "Where it all comes from: [source.<id>] tables."),
            "question": Told("named", "The questions: [question.<id>] tables."),
            "recall": Told("named", "Branches on an answer already given: [recall.<id>] tables."),
            "working": Told("named", "Calculations of the trade: [working.<id>] tables."),
            "visit": Told("named", "Other trees run as a part of this one: [visit.<id>] tables."),
            "each": Told("named", "A tree run once for each of several things: [each.<id>] tables."),
            "finding": Told("named", "What answers show: [finding.<id>] tables."),
            "verdict": Told("tables", "What is said at the end: [[verdict]] tables; the first that fits is given.", "needed to pass `check`"),
            "moved": Told("tables", "What earlier editions called things: [[moved]] tables, oldest first."),
        },
    ),
    "About": ToldTable(
        "[tree]",
        "What the tree is for, and where it begins.",
        {
            "id": Told("id", "The tree's own name; its file is called the same, with .toml behind it."),
            "title": Told("text", "What it is called in lists and at the head of a talk."),
            "edition": Told("text", "Which edition this is; raise it whenever the tree changes."),
            "purpose": Told("text", "The question that the whole tree settles."),
            "applies-to": Told("text", "What it is good for, so that nobody uses it for anything else."),
            "place": Told("text", "Where its rules hold, such as a country."),
            "first": Told("id", "The step that it begins with."),
            "defer": Told(
                "some-texts",
                "What is shown with every verdict: the law, the maker's instructions, who may do the work.",
            ),
            "review-by": Told("month", "A month; past it, every verdict of this tree says that it is due for review."),
        },
    ),
    "Requirement": ToldTable(
        "[requirement.<id>]",
        "One thing that every verdict must speak to.",
        {
            "title": Told("text", "Its name in a word or two."),
            "means": Told("text", "What it means, in one sentence."),
        },
    ),
    "Source": ToldTable(
        "[source.<id>]",
        "Where a question, a finding or a figure comes from, and how firm that is.",
        {
            "title": Told("text", "The book, standard or law; or that it is common practice."),
            "part": Told("text", "Which part of it."),
            "edition": Told("text", "Which edition of it."),
            "standing": Told(
                "word",
                "How firm it is: published; common practice; or from memory, still to be checked against the book.",
            ),
        },
    ),
    "Question": ToldTable(
        "[question.<id>]",
        "One thing to find out. Every question needs `must-answer = true` or a [question.<id>.not-sure] table.",
        {
            "kind": Told(
                "word",
                "How it is answered: one of several, any number of several, a number with a unit, a whole number, "
                "or free words.",
            ),
            "ask": Told("text", "The question itself."),
            "why": Told("text", "Why it matters; shown when somebody asks why.", "needed to pass `check`"),
            "look": Told("text", "How to find out on site; shown when somebody asks how.", "needed to pass `check`"),
            "source": SOURCE._replace(needed="needed to pass `check`"),
            "accept": Told(
                "words",
                "Which ways of knowing settle it. An answer known in another way counts as not sure. Without it, all do.",
            ),
            "must-answer": Told(
                "flag", "`true` where not sure is refused.", "this or a not-sure table is needed to pass `check`"
            ),
            "unit": Told("text", "The unit of the number, such as mm. Without it, a plain number. Measure and count."),
            "least": Told("number", "The least it can be; less is refused as a slip.", "needed for measure and count"),
            "most": Told("number", "The most it can be; more is refused as a slip.", "needed for measure and count"),
            "then": THEN._replace(
                says=f"{THEN.says} It counts for answers and bands that have none. Write it above the tables below.",
                needed="needed for several and note",
            ),
            "not-sure": NOT_SURE,
            "answer": Told("tables", "What can be said: [[question.<id>.answer]] tables.", "needed for choice and several"),
            "band": BANDS,
        },
    ),
    "NotSure": ToldTable(
        "[question.<id>.not-sure]",
        "What follows from not sure; below a recall or a working too: [recall.<id>.not-sure], [working.<id>.not-sure].",
        {
            "find-out": Told("text", "How to settle it later; listed with a verdict that is still open."),
            "finding": FINDING,
            "then": THEN._replace(
                says=f"{THEN.says} Without it, every answer stays possible.", needed="needed for several and note"
            ),
        },
    ),
    "Answer": ToldTable(
        "[[question.<id>.answer]]",
        "One thing a person can say.",
        {
            "id": Told("id", "The answer's own name. Records keep it, so leave it as it is once it is in use."),
            "says": Told("text", "The answer as it is offered."),
            "also": Told("texts", "Other words for it that a person may type."),
            **BRANCH,
        },
    ),
    "Band": ToldTable(
        "[[question.<id>.band]]",
        "A stretch of numbers, from the end of the band before it to its own end; below a recall or a working too: "
        "[[recall.<id>.band]], [[working.<id>.band]].",
        {
            "below": Told(
                "number",
                "Its upper end, left out: `below = 300` takes less than 300.",
                "this or `up-to` is needed, save in the last band",
            ),
            "up-to": Told(
                "number",
                "Its upper end, taken in: `up-to = 300` takes 300 and less.",
                "this or `below` is needed, save in the last band",
            ),
            "says": Told("text", "The band in words."),
            **BRANCH,
        },
    ),
    "Recall": ToldTable(
        "[recall.<id>]",
        "A branch on an answer already given. It asks nothing.",
        {
            "question": Told("id", "The choice, measure or count question of this tree whose answer is looked at."),
            "then": THEN._replace(says=f"{THEN.says} It counts for answers and bands that have none."),
            "not-sure": NOT_SURE._replace(needed="needed where that question can be not sure and go on"),
            "answer": Told("tables", "Where each answer leads: [[recall.<id>.answer]] tables.", "of a choice alone"),
            "band": BANDS._replace(needed="of a measure or count alone"),
        },
    ),
    "RecallAnswer": ToldTable(
        "[[recall.<id>.answer]]",
        "Where an answer given before leads from here.",
        {
            "id": Told("id", "The id of that answer, as in the question."),
            "finding": FINDING,
            "then": BRANCH["then"],
        },
    ),
    "Working": ToldTable(
        "[working.<id>]",
        "A calculation of the trade, and the bands that its result falls into.",
        {
            "run": Told("text", "Its name; `throughwall calc` lists them all."),
            "give": Told("give", "Its inputs from answers: input = fact key. `joint.*` gives the list of all joints."),
            "set": Told("set-inputs", "Its inputs from you: input = a number, a text, or a list of texts."),
            "branch-on": Told("text", "The result that the bands look at; `throughwall calc` and its name lists them."),
            "source": SOURCE,
            "then": THEN._replace(says=f"{THEN.says} It counts for bands that have none."),
            "not-sure": NOT_SURE._replace(needed="needed where an input it must have can be unknown"),
            "band": BANDS,
        },
    ),
    "Visit": ToldTable(
        "[visit.<id>]",
        "Another tree, run once as a part of this one. It is looked for beside this file, then among the installed ones.",
        {
            "tree": Told("id", "The id of that tree."),
            "then": THEN._replace(says="What comes next once that tree reaches its `end`."),
            "given": GIVEN,
            "set": SET,
        },
    ),
    "Each": ToldTable(
        "[each.<id>]",
        "Another tree, run once for each of several things.",
        {
            "count": Told("id", "The count question that says how many there are.", "this or `over` is needed"),
            "over": Told("id", "The several question whose answers are the things.", "this or `count` is needed"),
            "tree": Told("id", "The id of that tree."),
            "then": THEN._replace(says="What comes next once it was run for all of them."),
            "label": Told("text", "What each is called, such as `Joint {n}`: {n} is its number and, with `over`, {says} the answer."),
            "given": GIVEN,
            "set": SET,
        },
    ),
    "Finding": ToldTable(
        "[finding.<id>]",
        "What an answer shows, said once, with its reason and its source.",
        {
            "requirement": Told("id", "The requirement that it speaks to.", "needed unless it is advice"),
            "effect": Told("word", "What it does to that requirement; advice changes nothing."),
            "reason": Told("text", "Why, in words that stand in the verdict."),
            "source": SOURCE._replace(needed="needed to pass `check`"),
            "unsafe": Told("word", "The likely class of a flue in use; the engineer decides."),
            "householder": Told("text", "The same in plain words for the person who lives there."),
        },
    ),
    "Verdict": ToldTable(
        "[[verdict]]",
        "What is said at the end. The first whose `when` fits is given.",
        {
            "id": Told("id", "The verdict's own name; `verdict:` and it can stand in a `then`."),
            "title": Told("text", "The verdict in one line."),
            "says": Told("text", "The verdict in a sentence or two."),
            "do": Told(
                "texts",
                'What to do now, in order. A step that begins "New work:" or "If it is in use:" is told only then.',
            ),
            "outcome": Told("word", "What it comes to."),
            "when": Told(
                "when", "The states that call for it, all of them together. Without it, it always fits."
            ),
        },
    ),
    "Moved": ToldTable(
        "[[moved]]",
        "What an edition left behind called its questions and answers, so that its records carry over.",
        {
            "edition": Told(
                "text", "The edition left behind. Its records pass through this table and those below it."
            ),
            "questions": Told("renamed", "Questions that were renamed: old = new."),
            "answers": Told("renamed", "Answers that were renamed: question.old = new."),
        },
    ),
}  # fmt: skip
"""By the name of the model's class, in the order of the reference."""
