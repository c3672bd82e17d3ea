"""A page of Markdown on a terminal narrower than its lines."""

from __future__ import annotations

import re

import pytest

from assistant.render.page import fitted
from assistant.tree.installed import installed_folder

FORMAT = (installed_folder() / "FORMAT.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("width", [40, 79, 100])
def test_the_reference_fits_and_keeps_every_word(width: int) -> None:
    page = fitted(FORMAT, width)
    assert page.split() == FORMAT.split()
    longest = max(map(len, re.findall(r"\S+", FORMAT)))
    assert max(map(len, page.splitlines())) <= max(width, longest)


def test_a_page_that_fits_stays_as_it_is() -> None:
    assert fitted(FORMAT, 200) == FORMAT


def test_paragraphs_and_items_are_filled_anew_and_all_else_stays_apart() -> None:
    page = """\
# A title that is long enough to be broken

One two three four five
six seven.
- An item of more words
  than one line.
- Another.

```toml
look = "Look at it from outside the house."
x = 1
```
| a | b c d e f g h i j k l m |
| n |
"""
    assert (
        fitted(page, 24)
        == """\
# A title that is long
enough to be broken

One two three four five
six seven.
- An item of more words
  than one line.
- Another.

```toml
look = "Look at it from
    outside the house."
x = 1
```
| a | b c d e f g h i j
    k l m |
| n |
"""
    )


def test_a_word_is_broken_only_where_it_is_wider_than_the_terminal() -> None:
    assert fitted("one-two three-four-five six\n" * 2, 20).splitlines()[0] == "one-two"
    assert fitted("a " + "b" * 45, 20).splitlines() == ["a bbbbbbbbbbbbbbbbbb", "b" * 20, "b" * 7]
