"""The folders that are made for what is written."""

from __future__ import annotations

import os
from pathlib import Path

from assistant.session.files import write_atomically


def test_every_folder_that_is_made_is_its_owners_alone_and_others_are_left(tmp_path: Path) -> None:
    (tmp_path / "shared").mkdir(mode=0o755)
    before = os.umask(0)
    try:
        write_atomically(tmp_path / "shared" / "share" / "throughwall" / "records" / "a.toml", b"")
    finally:
        os.umask(before)
    made = ["shared/share", "shared/share/throughwall", "shared/share/throughwall/records"]
    assert [(tmp_path / name).stat().st_mode & 0o777 for name in made] == [0o700] * 3
    assert (tmp_path / "shared").stat().st_mode & 0o777 == 0o755
