"""Our own themes, dark and light, and the terminal's own palette.

Invariant: in the dark and the light theme every text stands at 4.5 : 1 or more on its background; a test renders
every screen and measures it.
"""

from __future__ import annotations

from collections.abc import Mapping

from textual.theme import Theme

__all__ = ["DARK", "LIGHT", "LOOKS", "TERMINAL", "first_look", "looks_for"]

DARK = "soot"
LIGHT = "plaster"
TERMINAL = "ansi-dark"
"""The terminal's own sixteen colours, as Textual maps them."""


def _theme(name: str, dark: bool, **colour: str) -> Theme:
    """A theme in which every variable that our screens use is set outright, none blended."""
    ground, ink, quiet, rule = colour["ground"], colour["ink"], colour["quiet"], colour["rule"]
    mark, on_mark, raised = colour["mark"], colour["on_mark"], colour["raised"]
    variables = {
        "text": ink,
        "text-muted": quiet,
        "text-disabled": quiet,
        "foreground-muted": quiet,
        "block-cursor-foreground": on_mark,
        "block-cursor-background": mark,
        "block-cursor-text-style": "bold",
        "block-cursor-blurred-foreground": ink,
        "block-cursor-blurred-background": raised,
        "block-hover-background": raised,
        "border": mark,
        "border-blurred": rule,
        "input-cursor-background": ink,
        "input-cursor-foreground": ground,
        "input-selection-background": mark,
        "input-selection-foreground": on_mark,
        "screen-selection-background": mark,
        "screen-selection-foreground": on_mark,
        "scrollbar": rule,
        "scrollbar-hover": quiet,
        "scrollbar-active": mark,
        "scrollbar-background": ground,
        "scrollbar-background-hover": ground,
        "scrollbar-background-active": ground,
        "scrollbar-corner-color": ground,
        "footer-key-foreground": colour["label"],
    }
    return Theme(
        name=name, dark=dark, primary=mark, secondary=rule, accent=colour["label"], foreground=ink,
        background=ground, surface=ground, panel=raised, boost=raised, warning=colour["doubt"],
        error=colour["alarm"], success=colour["good"], variables=variables,
    )  # fmt: skip


LOOKS = (
    _theme(
        DARK, True, ground="#15191c", raised="#22292d", ink="#e8e3d8", quiet="#a8a294", rule="#465056",
        mark="#d9a15f", on_mark="#17120a", label="#e3b57c", good="#93c98c", doubt="#e7c766", alarm="#ff927c",
    ),
    _theme(
        LIGHT, False, ground="#f7f3ea", raised="#e9e2d3", ink="#24211b", quiet="#5d574a", rule="#b5ab97",
        mark="#6f430f", on_mark="#fffaf0", label="#7a470c", good="#24612a", doubt="#6d4d00", alarm="#9c2117",
    ),
)  # fmt: skip


def looks_for(environ: Mapping[str, str]) -> tuple[str, ...]:
    """The themes to choose from: the terminal's own colours are no choice where colour is not wanted."""
    return (DARK, LIGHT) if environ.get("NO_COLOR") else (DARK, LIGHT, TERMINAL)


def first_look(environ: Mapping[str, str]) -> str:
    """Dark, unless the terminal says that its background is light."""
    ground = environ.get("COLORFGBG", "").rpartition(";")[2]
    return LIGHT if ground in ("7", "15") else DARK
