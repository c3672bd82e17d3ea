"""The demo consultations, held anew with the real program: `python -m tests.transcripts` writes transcripts_demo/.

The makers and places in them are invented.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
DEMO = ROOT / "transcripts_demo"

SCRIPTS = {
    "pulled-from-outside": """
1
existing
none
natural gas
to hand
note Tarrowick leaflet for the appliance and Skelmire leaflet for the flue, both read on the step
named
concentric
steel
2
basis seen
up
home
sound
no screws
why
pushed in
basis instructions
push-fit
basis seen
a plain length
fixed to its outer
no bracket
out
same
yes
solid
none
flexible collar
how
flexible collar
basis measured
127 mm
100
21.5 cm
basis seen
cored
flush
right
stays
firm
change 28
mortar
basis instructions
allowed
basis seen
sound
keep
keep
keep
keep
keep
keep
quit
""",
    "new-mortar-and-collar": """
1
fitting
none
lpg
to hand
named
concentric
steel
2
up
home
sound
pushed in
push-fit
a plain length
fixed to its outer
no bracket
out
same
yes
cavity
sleeved
none
mortar
fixed collar
allowed
sound
127
100
12 in
cut clean
flush
right
stays
firm
quit
""",
    "foam-one-maker": """
1
existing
none
natural
to hand
note Skelmire flue; Pondrake foam can found in the meter cupboard
named
concentric
steel
2
up
home
sound
screws
outer only
screws
plain length
fixed to its outer
no bracket
out
same
no
home
sound
screws
unsure
screws
plain length
fixed to its outer
no bracket
solid
none
foam
2
suits
whole
mortar
allowed
sound
127
100
215
right
stays
firm
quit
""",
    "smell-of-fumes": """
1
existing
dunno
quit
""",
}


def talk(name: str, folder: Path) -> tuple[str, str]:
    """Hold one demo consultation in an empty folder: the talk as text, and its record."""
    run = subprocess.run(
        [sys.executable, "-m", "tests.line.talk", "HOME"],
        input=SCRIPTS[name].lstrip(),
        capture_output=True,
        text=True,
        check=True,
        cwd=folder,
        env={
            **os.environ,
            "PYTHONPATH": str(ROOT),
            "TERM": "dumb",
            "COLUMNS": "80",
            "NO_COLOR": "1",
            "PYTHONUTF8": "1",
        },
    )
    records = list((folder / "HOME" / "records").glob("*.toml"))
    return run.stdout, records[0].read_text(encoding="utf-8") if records else ""


def main() -> None:
    """Write every demo consultation anew."""
    import tempfile

    DEMO.mkdir(exist_ok=True)
    for name in SCRIPTS:
        with tempfile.TemporaryDirectory() as folder:
            text, record = talk(name, Path(folder))
        (DEMO / f"{name}.txt").write_text(text, encoding="utf-8")
        (DEMO / f"{name}.toml").write_text(record, encoding="utf-8")
        print(f"{name}: {len(text.splitlines())} lines")


if __name__ == "__main__":
    main()
