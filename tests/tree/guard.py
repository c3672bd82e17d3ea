"""A small whole tree that passes every proof, to be spoilt by one slip of the pen at a time."""

from __future__ import annotations

__all__ = ["GUARD"]

GUARD = """format = 1

[tree]
id = "guard"
title = "The guard of a terminal"
edition = "1"
purpose = "Is the terminal guarded where people can touch it?"
applies-to = "A terminal low on a wall."
place = "Nowhere"
first = "fitted"
defer = ["The maker's instructions come first."]

[requirement.guarded]
title = "Kept from being touched"
means = "Nobody can touch the hot terminal."

[requirement.free]
title = "Free to breathe"
means = "The guard leaves the terminal room."

[source.practice]
title = "Common practice of the trade"
standing = "common-practice"

[source.standard]
title = "The standard for guards"
standing = "memory"

[question.fitted]
kind = "choice"
ask = "Is there a guard over the terminal?"
why = "It is hot and low."
look = "Look at the wall outside."
source = "practice"

[question.fitted.not-sure]
find-out = "Go outside."
finding = "not-seen"
then = "end"

[[question.fitted.answer]]
id = "fitted"
says = "Yes"
also = ["guarded"]
then = "gap"
put-right = "Fit a guard."
effort = 2

[[question.fitted.answer]]
id = "missing"
says = "No guard"
also = ["bare"]
finding = "no-guard"
then = "end"

[question.gap]
kind = "measure"
unit = "mm"
least = 0
most = 300
ask = "How far is the guard from the terminal?"
why = "Too near, and it blocks the terminal."
look = "Measure where it is nearest."
source = ["practice", "standard"]
then = "firm"

[question.gap.not-sure]
find-out = "Measure it."
finding = "not-measured"

[[question.gap.band]]
below = 50
says = "Less than 50 mm"
finding = "near"

[[question.gap.band]]
says = "50 mm or more"
finding = "room"
put-right = "Fit a deeper guard."
effort = 2

[question.firm]
kind = "choice"
ask = "Is the guard firm?"
why = "A loose one falls off."
look = "Pull at it."
source = "practice"
must-answer = true
then = "end"

[[question.firm.answer]]
id = "screws"
says = "It is held by screws"
also = ["yes"]
finding = "holds"
put-right = "Screw it on."
effort = 1

[[question.firm.answer]]
id = "loose"
says = "It moves"
finding = "no-guard"

[finding.not-seen]
requirement = "guarded"
effect = "unproven"
reason = "Nobody has seen whether there is a guard."
source = "practice"

[finding.no-guard]
requirement = "guarded"
effect = "fails"
reason = "People can touch the hot terminal."
source = "practice"

[finding.near]
requirement = "free"
effect = "fails"
reason = "The guard is so near that it blocks the terminal."
source = "standard"

[finding.room]
requirement = "free"
effect = "meets"
reason = "The guard leaves room enough."
source = "standard"

[finding.not-measured]
requirement = "free"
effect = "unproven"
reason = "Nobody has measured the gap."
source = "standard"

[finding.holds]
requirement = "guarded"
effect = "meets"
reason = "A guard is held there."
source = "practice"

[[verdict]]
id = "unguarded"
title = "The terminal is not guarded"
outcome = "not-acceptable"
when = { any = "not-met" }
says = "It may not stay so."
do = ["Put right what is listed."]

[[verdict]]
id = "passes"
title = "Guarded and free"
outcome = "acceptable"
when = { all = "met" }
says = "It may stay."
do = []

[[verdict]]
id = "not-settled"
title = "Too little is known"
outcome = "not-settled"
says = "Nobody can say yet."
do = ["Find out what is listed."]
"""
