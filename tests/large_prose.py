"""Prose for large trees: sentences of the length and kind that real ones have, put together from a few words."""

from __future__ import annotations

from random import Random

__all__ = ["SOURCES", "Prose"]

SOURCES = {
    "common": "Common practice of the trade",
    "maker": "The instructions that came with the appliance",
    "memory": "Working knowledge, set down from memory",
}

PARTS = (
    "joint",
    "collar",
    "bracket",
    "seal",
    "terminal",
    "elbow",
    "sleeve",
    "screw",
    "sealant",
    "duct",
    "wall",
    "cavity",
)
PLACES = (
    "at the appliance",
    "behind the casing",
    "in the room",
    "inside the wall",
    "at the outer face",
    "under the eaves",
    "beside the window",
    "at the corner",
)
FLAWS = (
    "rain can run in behind it",
    "products can get back indoors",
    "it can be pulled apart by hand",
    "heat can reach what burns",
    "it wears with every storm",
    "the air for the flame is fouled",
)
LOOKS = (
    "Stand close and use a torch.",
    "Push it with a flat hand, never with a tool.",
    "Compare it with the drawing in the maker's booklet.",
    "Look from both sides, since one side can hide the other.",
    "Where a casing is in the way, take it off only if you may.",
    "Write down what you cannot see.",
)
SIGNS = (
    "a clean edge all round",
    "a gap that takes a fingernail",
    "brown runs below it",
    "old putty, hard and cracked",
    "a bright new screw",
    "dust that moves with the wind",
)
WORK = (
    "Make it again as the maker shows.",
    "Take it apart, change what is worn, and push it home.",
    "Rake it out and fill it with what was made for it.",
    "Fit the bracket that belongs there.",
)
ANSWERS = {
    "right": "As it should be",
    "wrong": "Not as it should be",
    "other": "Something else",
    "hidden": "Hidden behind something",
}


class Prose:
    """Sentences about one part of a flue after another."""

    def __init__(self, random: Random) -> None:
        self.pick = random.choice
        self.sample = random.sample

    def about(self, number: int) -> str:
        return f"the {self.pick(('upper', 'lower', 'inner', 'outer', 'first', 'last'))} {PARTS[number % len(PARTS)]}"

    def ask(self, about: str, kind: str) -> str:
        ask = {
            "choice": "How does {} look",
            "measure": "How far from the opening is {}",
            "count": "How many fixings hold {}",
        }
        return f"{ask[kind].format(about)} {self.pick(PLACES)}?"

    def why(self, about: str) -> str:
        one, other = self.sample(FLAWS, 2)
        return f"Where {about} is not as its maker wants it, {one}.\nNobody sees that from the room until {other}."

    def look(self, about: str) -> str:
        return f"Find {about} {self.pick(PLACES)}.\n" + " ".join(self.sample(LOOKS, 2))

    def seen(self, about: str) -> str:
        return f"At {about} there is {self.pick(SIGNS)}, and {self.pick(SIGNS)} {self.pick(PLACES)}."

    def reason(self, about: str, effect: str) -> str:
        if effect == "meets":
            return f"As to {about}, what was looked at is as its maker wants it {self.pick(PLACES)}."
        return f"Of {about} it {'is not known whether' if effect == 'unproven' else 'is plain that'} {self.pick(FLAWS)}."

    def find_out(self) -> str:
        return f"{self.pick(LOOKS)} Or ask whoever fitted it."

    def answer(self, name: str) -> str:
        return ANSWERS.get(name) or f"About that much, with {self.pick(SIGNS)}"

    def do(self) -> str:
        return self.pick(WORK)

    def says(self, title: str) -> str:
        return f"{title}. This speaks to what was asked, and to nothing else.\n{self.pick(LOOKS)}"
