"""What every screen of ours has in common: breakpoints, the keys at the foot, copying a selection."""

from __future__ import annotations

from typing import ClassVar, TypeVar

from textual.binding import Binding, BindingType
from textual.screen import Screen

__all__ = ["WIDE", "Sheet"]

WIDE = 110
"""Columns from which a pane stands beside the talk."""

Result = TypeVar("Result")


class Sheet(Screen[Result]):
    """A full screen of ours."""

    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+c", "copy_text", "Copy", show=False, id="copy",
                tooltip="Copy the text selected with the mouse."),
    ]  # fmt: skip

    def action_copy_text(self) -> None:
        """Copy the selection, or say how to select."""
        text = self.get_selected_text()
        if text:
            self.app.copy_to_clipboard(text)
            self.notify("Copied.", markup=False)
        else:
            self.notify("Drag over text to select it, then copy. Ctrl+Q leaves.", markup=False)
