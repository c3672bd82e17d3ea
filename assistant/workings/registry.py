"""Every working by name, each loaded only when it is asked for.

Adding a working is adding its module, with a tuple `WORKINGS`, and one line here.
"""

from __future__ import annotations

from functools import cache
from importlib import import_module

from assistant.errors import Refused
from assistant.workings.working import NOT_SURE, Figures, Input, Result, Source, Working, nearest

__all__ = ["NOT_SURE", "Figures", "Input", "Result", "Source", "Working", "find", "names"]

_MODULES = {
    "annular-gap": "annulus",
    "annulus-fill": "annulus",
    "restraint": "restraint",
}


def names() -> tuple[str, ...]:
    """The names of all workings, in the order they are listed to people; loads none of them."""
    return tuple(_MODULES)


@cache
def find(name: str) -> Working:
    """The working of this name. Raises `Refused` with the name that was likely meant."""
    if name not in _MODULES:
        meant = nearest(name, _MODULES)
        hint = f'did you mean "{meant}"?' if meant else f"the workings are {', '.join(_MODULES)}"
        raise Refused(f'there is no working "{name}"', hint)
    module = import_module(f"assistant.workings.{_MODULES[name]}")
    found: Working = next(each for each in module.WORKINGS if each.name == name)
    return found
