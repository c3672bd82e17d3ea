"""The line of keys at the foot, made from the bindings that apply now; a key can be clicked."""

from __future__ import annotations

from textual.binding import ActiveBinding
from textual.content import Content
from textual.geometry import Size
from textual.screen import Screen
from textual.style import Style
from textual.widget import Widget

from assistant.screens.keys import FOOT

__all__ = ["KeyBar"]

GAP = "  "


class KeyBar(Widget):
    """As many keys as fit in one line, or two where the window is tall; the first of each kind is kept longest.

    The key for products indoors stands at the right of the first line, always.
    """

    DEFAULT_CSS = """
    KeyBar { height: auto; padding: 0 1; background: $panel; color: $foreground; }
    """

    auto_links = False
    lines = 2

    def on_mount(self) -> None:
        """Follow the bindings as they change."""
        self.screen.bindings_updated_signal.subscribe(self, self._updated)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """One line or two."""
        return len(self._laid_out(width))

    def render(self) -> Content:
        """The keys, laid out for the width there is."""
        return Content("\n").join(self._laid_out(self.content_size.width))

    def _updated(self, screen: Screen[object]) -> None:
        self.refresh(layout=True)

    def _laid_out(self, width: int) -> list[Content]:
        shown: dict[str, ActiveBinding] = {}
        for one in self.screen.active_bindings.values():
            if one.enabled and one.binding.show:
                shown.setdefault(one.binding.id or one.binding.action, one)
        danger = shown.pop("danger", None)
        last = self._one(danger, "$error") if danger is not None else Content()
        rows: list[list[Content]] = [[]]
        room = width - last.cell_length - len(GAP)
        most = self.lines if self.app.size.height >= 20 else 1
        for one in sorted(shown.values(), key=_place):
            item = self._one(one, "$footer-key-foreground")
            needed = item.cell_length + (len(GAP) if rows[-1] else 0)
            if needed > room and len(rows) < most and rows[-1]:
                rows.append([])
                room, needed = width, item.cell_length
            if needed <= room:
                rows[-1].append(item)
                room -= needed
        lines = [Content(GAP).join(row) for row in rows]
        lines[0] = Content.assemble(
            lines[0], " " * max(1, width - lines[0].cell_length - last.cell_length), last
        )
        return lines

    def _one(self, active: ActiveBinding, colour: str) -> Content:
        """A key and its name, clickable: the action is ours, so is the text."""
        key = self.app.get_key_display(active.binding)
        action = active.binding.action
        name = action if "." in action else f"screen.{action}"
        item = Content.assemble((key, f"bold {colour}"), f" {active.binding.description}")
        return item.stylize(Style.from_meta({"@click": name}))


def _place(active: ActiveBinding) -> int:
    name = active.binding.id or ""
    return FOOT.index(name) if name in FOOT else len(FOOT)
