"""Whether any joint of a flue can be drawn apart by hand, which way, by how much, and what would stop it.

`model` holds the limits and the openings they leave, `additions` the search for what would hold every joint,
`joint_words` and `words` say both so that a fitter can check them, `declared` is the working itself.
"""

from assistant.workings.restraint.declared import FACES, MOST_JOINTS, WORKINGS

__all__ = ["FACES", "MOST_JOINTS", "WORKINGS"]
