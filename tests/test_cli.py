"""The command: what `judge`, `facts new` and `calc` print, and how they end."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from assistant import __version__
from assistant.cli import main
from tests.writing import choice, number, whole

STEPS = (
    choice("fixing", "screws ! good > hole", "none ! bad > hole", unsure='find-out = "Look at the collar."')
    + number("hole", " > flue", unsure='then = "end"')
    + number("flue", " > gap", unsure='then = "end"')
    + """
[working.gap]
run = "annular-gap"
give = { hole_mm = "hole", flue_mm = "flue" }
branch-on = "gap_mm"
then = "end"
[[working.gap.band]]
below = 5
finding = "unclear"
[[working.gap.band]]
[working.gap.not-sure]
finding = "note"
then = "end"
"""
)
FOREIGN = "Judged by small.toml, which is not one of the installed trees.\n"
"""Said on stderr beside the JSON."""

STEPS = STEPS.replace(
    'says = "It is screws"', 'says = "It is screws"\nput-right = "Put screws in."\neffort = 2'
)
KEYS = [
    "format", "file", "tree", "outcome", "verdict", "possible", "requirements", "findings", "path", "unused", "next",
    "open", "workings", "put_right", "likely_class", "proven",
]  # fmt: skip
ACCEPTABLE = 'fixing = "screws"\nhole = 127\nflue = "10 cm"\n'


class Ended(NamedTuple):
    status: int
    out: str
    err: str

    @property
    def lines(self) -> list[dict[str, Any]]:
        return [json.loads(line) for line in self.out.splitlines()]


Run = Callable[..., Ended]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the command in a folder with a tree that passes its proofs, and one that does not."""
    monkeypatch.chdir(tmp_path)
    unused = re.compile(r"\[finding\.worse\].*?(?=\[finding)", re.DOTALL)
    (tmp_path / "small.toml").write_text(unused.sub("", whole(STEPS, "fixing")))
    doubtful = whole(STEPS, "fixing", tree_id="doubtful").replace('look = "Look."', "")
    (tmp_path / "doubtful.toml").write_text(doubtful)

    def run(*arguments: str) -> Ended:
        monkeypatch.setattr(sys, "argv", ["throughwall", *arguments])
        with pytest.raises(SystemExit) as end:
            main()
        assert isinstance(end.value.code, int)
        return Ended(end.value.code, *capsys.readouterr())

    return run


def facts(name: str, lines: str, tree: str = "small.toml") -> str:
    Path(name).write_text(f'tree = "{tree}"\n[facts]\n{lines}')
    return name


# judge --json


def test_a_judgement_has_its_keys_in_order(run: Run) -> None:
    ended = run("judge", "--json", facts("a.toml", ACCEPTABLE))
    [line] = ended.lines
    assert (ended.status, ended.err) == (0, FOREIGN)
    assert list(line) == KEYS
    assert re.fullmatch("[0-9a-f]{64}", line["tree"].pop("digest"))
    assert line == {
        "format": 1, "file": "a.toml", "tree": {"id": "small", "edition": "1"}, "outcome": "acceptable",
        "verdict": {"id": "sound", "title": "Sound"}, "possible": ["sound"], "requirements": {"sound": "met"},
        "findings": [
            {"id": "good", "requirement": "sound", "effect": "meets", "causes": ["fixing"],
             "reason": "It is as it should be.", "source": ["trade"]}
        ],
        "path": ["fixing", "hole", "flue"], "unused": [], "next": None, "open": [],
        "workings": [
            {"step": "gap", "run": "annular-gap", "inputs": {"hole_mm": 127, "flue_mm": 100},
             "results": {"gap_mm": 13.5}, "source": ["geometry"]}
        ],
        "put_right": [], "likely_class": None, "proven": True,
    }  # fmt: skip
    for table, keys in (
        (line["findings"][0], ["id", "requirement", "effect", "causes", "reason", "source"]),
        (line["workings"][0], ["step", "run", "inputs", "results", "source"]),
    ):
        assert list(table) == keys


def test_what_puts_it_right_and_what_is_not_used_are_listed(run: Run) -> None:
    lines = 'fixing = "none"\nhole = "not-sure"\nflue = 100\n'
    ended = run("judge", "--json", facts("a.toml", lines))
    [line] = ended.lines
    assert ended.status == 1
    assert (line["outcome"], line["path"], line["unused"]) == ("not-acceptable", ["fixing", "hole"], ["flue"])
    change = {"question": "fixing", "from": "none", "to": "screws", "work": "Put screws in."}
    assert line["put_right"] == [{"effort": 2, "changes": [change], "outcome": "acceptable"}]
    assert list(line["put_right"][0]["changes"][0]) == ["question", "from", "to", "work"]


def test_what_is_open_is_listed_with_how_to_find_it_out(run: Run) -> None:
    [line] = run("judge", "--json", facts("a.toml", 'fixing = "not-sure"\nhole = 127\nflue = 100\n')).lines
    assert (line["outcome"], line["verdict"], line["possible"]) == ("not-settled", None, ["sound", "unsound"])
    assert line["requirements"] == {"sound": "not-proven"}
    assert line["open"] == [{"question": "fixing", "find_out": "Look at the collar."}]


def test_a_judgement_without_all_answers_says_what_is_next(run: Run) -> None:
    ended = run("judge", "--json", facts("a.toml", 'fixing = "none"\n'))
    [line] = ended.lines
    assert ended.status == 3
    assert list(line) == KEYS
    assert (line["outcome"], line["verdict"], line["requirements"], line["next"]) == (None, None, {}, "hole")
    assert (line["possible"], line["path"]) == (["unsound"], ["fixing"])


def test_a_refused_file_says_why_and_the_others_go_on(run: Run) -> None:
    good, bad = facts("a.toml", ACCEPTABLE), facts("b.toml", 'fixng = "none"\n')
    ended = run("judge", "--json", bad, good, "gone.toml")
    first, second, third = ended.lines
    assert (ended.status, ended.err) == (2, FOREIGN)
    assert first == {
        "format": 1, "file": "b.toml",
        "error": {
            "message": '"fixng" can never be asked by "small".', "where": "b.toml:3:1", "hint": 'Did you mean "fixing"?',
        },
    }  # fmt: skip
    assert list(first["error"]) == ["message", "where", "hint"]
    assert second["outcome"] == "acceptable"
    assert third["error"]["message"] == "There is no file gone.toml."


def test_answers_that_a_working_refuses_are_refused(run: Run) -> None:
    wide = facts("a.toml", 'fixing = "none"\nhole = 100\nflue = 100\n')
    [line] = run("judge", "--json", wide).lines
    assert line["error"]["message"] == "a flue of 100 mm does not go through a hole of 100 mm"
    told = run("judge", wide, facts("b.toml", ACCEPTABLE))
    assert told.status == 2
    assert told.err.startswith("a.toml: ")
    assert "== b.toml" in told.out


def test_one_tree_may_be_named_for_all_files(run: Run) -> None:
    Path("a.toml").write_text(f"[facts]\n{ACCEPTABLE}")
    assert run("judge", "--json", "--tree", "small.toml", "a.toml").status == 0
    assert run("judge", "--json", "--tree", "doubtful.toml", facts("b.toml", ACCEPTABLE)).status == 2


# Proofs


def test_a_tree_that_fails_a_proof_is_refused_unless_asked_for(run: Run) -> None:
    doubtful = facts("a.toml", ACCEPTABLE, "doubtful.toml")
    ended = run("judge", doubtful)
    assert (ended.status, ended.out) == (2, "")
    assert "doubtful.toml:" in ended.err
    [line] = run("judge", "--json", doubtful).lines
    assert "--unproven" in line["error"]["hint"]
    [line] = run("judge", "--json", "--unproven", doubtful).lines
    assert (line["outcome"], line["proven"]) == ("acceptable", False)
    told = run("judge", "--unproven", doubtful).out
    assert "[UNPROVEN TREE · Acceptable]" in told
    assert "has not passed its proofs" in told


def test_a_tree_that_does_not_load_is_refused_proven_or_not(run: Run) -> None:
    Path("broken.toml").write_text(whole(STEPS, "fixng", tree_id="broken"))
    ended = run("judge", "--unproven", facts("a.toml", ACCEPTABLE, "broken.toml"))
    assert (ended.status, ended.out) == (2, "")
    assert "broken.toml:9:9: there is no step" in ended.err


def test_the_mistakes_of_one_tree_are_told_once_for_many_files(run: Run) -> None:
    Path("broken.toml").write_text(whole(STEPS, "fixng", tree_id="broken"))
    for tree, mistake in (("broken.toml", "there is no step"), ("doubtful.toml", "has no `look`")):
        names = [facts(f"{place}.toml", ACCEPTABLE, tree) for place in range(3)]
        ended = run("judge", *names, facts("good.toml", ACCEPTABLE), "gone.toml")
        assert ended.status == 2
        assert ended.err.count(mistake) == run("judge", names[0]).err.count(mistake) > 0
        assert f"\n1.toml: refused for the faults in {tree} told above\n2.toml: refused for" in ended.err
        assert "There is no file gone.toml." in ended.err
        lines = run("judge", "--json", *names).lines
        assert len({json.dumps(line["error"]) for line in lines}) == 1


@pytest.mark.parametrize(
    "arguments", [["--tree", ""], ["judge", "--tree", " ", "a.toml"], ["facts", "new", ""]]
)
def test_a_tree_without_a_name_is_refused(run: Run, arguments: list[str]) -> None:
    ended = run(*arguments)
    assert (ended.status, ended.out) == (2, "")
    assert ended.err.startswith("the name of the tree is empty\nWrite the id of an installed tree")


# How it ends


@pytest.mark.parametrize(
    ("files", "status"),
    [
        ("a", 0), ("n", 1), ("m", 3), ("r", 2), ("aa", 0), ("an", 1), ("na", 1), ("nm", 3), ("mn", 3), ("am", 3),
        ("rm", 2), ("mr", 2), ("anmr", 2), ("rnma", 2),
    ],
)  # fmt: skip
def test_refused_comes_before_unfinished_before_other_than_acceptable(
    run: Run, files: str, status: int
) -> None:
    contents = {"a": ACCEPTABLE, "n": 'fixing = "none"\nhole = "not-sure"\n', "m": "", "r": "x = 1\n"}
    names = [facts(f"{place}-{kind}.toml", contents[kind]) for place, kind in enumerate(files)]
    assert run("judge", "--json", *names).status == run("judge", *names).status == status


@pytest.mark.parametrize(
    "arguments", [["judge"], ["judge", "--nonsense", "a.toml"], ["nonsense"], ["facts", "new"]]
)
def test_a_command_that_is_not_one_is_refused(run: Run, arguments: list[str]) -> None:
    ended = run(*arguments)
    assert (ended.status, ended.out) == (2, "")
    assert "Usage: throughwall" in ended.err


def test_the_version_and_the_help_are_told(run: Run) -> None:
    assert run("--version")[:2] == (0, f"throughwall, version {__version__}\n")
    told = run("--help")
    assert told.status == 0
    assert all(f"\n  {name} " in told.out for name in ("judge", "facts", "calc"))


# judge as text


def test_the_text_of_several_files_has_a_heading_each_and_goes_to_stdout(run: Run) -> None:
    ended = run("judge", facts("a.toml", ACCEPTABLE), facts("b.toml", 'fixing = "none"\nhole = "not-sure"\n'))
    assert ended.err == ""
    assert [line for line in ended.out.splitlines() if line.startswith("==")] == ["== a.toml", "== b.toml"]
    assert "Put screws in." in ended.out
    assert "==" not in run("judge", "a.toml").out


# facts new


def test_a_blank_facts_file_can_be_judged(run: Run) -> None:
    ended = run("facts", "new", "small.toml")
    assert ended.status == 0
    Path("new.toml").write_text(ended.out)
    [line] = run("judge", "--json", "new.toml").lines
    assert (line["path"], line["next"]) == ([], "fixing")
    for key, value in (("fixing", '"screws"'), ("hole", "127"), ("flue", '"10 cm"')):
        ended = Ended(0, re.sub(f'# "{key}" = .*', f'"{key}" = {value}', ended.out, count=1), "")
    Path("new.toml").write_text(ended.out)
    assert run("judge", "--json", "new.toml").status == 0


def test_a_blank_facts_file_of_no_tree_is_refused(run: Run) -> None:
    ended = run("facts", "new", "smal.toml")
    assert (ended.status, ended.out) == (2, "")
    assert ended.err == "smal.toml: There is no file smal.toml.\n  help: Did you mean small.toml?\n"


# calc


def test_a_working_is_run_with_its_sum_shown(run: Run) -> None:
    ended = run("calc", "annular-gap", "hole_mm=5 in", "flue_mm=10cm")
    assert (ended.status, ended.err) == (0, "")
    assert ended.out.startswith("(127 − 100) / 2 = 13.5 mm\nSource: ")


def test_a_working_as_data(run: Run) -> None:
    ended = run("calc", "annular-gap", "hole_mm=5 in", "flue_mm=100", "--json")
    [line] = ended.lines
    assert ended.status == 0
    assert list(line) == ["name", "inputs", "results", "source", "shown"]
    assert line == {
        "name": "annular-gap", "inputs": {"hole_mm": 127, "flue_mm": 100}, "results": {"gap_mm": 13.5},
        "source": ["geometry"], "shown": "(127 − 100) / 2 = 13.5 mm",
    }  # fmt: skip


JOINT = '[[joints]]\naxis = "out"\nheld_by = "push-fit"\nengagement_mm = "3 cm"\n'


def test_a_working_takes_its_tables_from_a_file(run: Run) -> None:
    Path("joints.toml").write_text(JOINT)
    [line] = run("calc", "restraint", "ducts=concentric", "--from", "joints.toml", "--json").lines
    assert line["inputs"]["joints"] == [{"axis": "out", "held_by": "push-fit", "engagement_mm": 30}]
    assert (line["results"]["state"], line["results"]["opening_mm"]) == ("not-proven", "unbounded")
    assert "Joint 1" in run("calc", "restraint", "ducts=concentric", "--from", "joints.toml").out


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["anular-gap"], 'there is no working "anular-gap"'),
        (["annular-gap", "hole_mm=127"], "nothing is given for the outside diameter of the flue"),
        (["annular-gap", "hole_mm=127", "flue_mm=100", "wide=3"], 'there is no input "wide"'),
        (["annular-gap", "hole_mm=127", "flue_mm"], '"flue_mm" is not an input'),
        (["annular-gap", "hole_mm=127", "hole_mm=127"], '"hole_mm" is given twice'),
        (["annular-gap", "hole_mm=3 kg", "flue_mm=100"], '"3 kg" is not a quantity in mm'),
        (
            ["annular-gap", "hole_mm=100", "flue_mm=127"],
            "a flue of 127 mm does not go through a hole of 100 mm",
        ),
        (["annular-gap", "hole_mm=nan", "flue_mm=127"], '"nan" is not a number'),
        (
            ["annular-gap", "hole_mm=127", "flue_mm=100", "--from", "joints.toml"],
            "annular-gap takes no list of tables",
        ),
        (["restraint", "--from", "gone.toml"], "There is no file gone.toml."),
        (["restraint", "--from", "other.toml"], "`joint` does not belong in this file"),
        (["restraint", "--from", "axis.toml"], '"sideways" is not an answer here'),
        (
            ["restraint", "ducts=concentric"],
            "nothing is given for the joints, from the appliance to the length through the wall",
        ),
        (["restraint", "joints=2"], "a list cannot be typed as one value"),
    ],
)
def test_a_bad_input_is_refused_as_text_and_as_data(run: Run, arguments: list[str], message: str) -> None:
    Path("joints.toml").write_text(JOINT)
    Path("other.toml").write_text(JOINT.replace("joints", "joint"))
    Path("axis.toml").write_text(JOINT.replace("out", "sideways"))
    told = run("calc", *arguments)
    assert (told.status, told.out) == (2, "")
    assert message in told.err
    data = run("calc", *arguments, "--json")
    [line] = data.lines
    assert (data.status, data.err, list(line)) == (2, "", ["error"])
    assert message in line["error"]["message"]
    assert list(line["error"]) == ["message", "where", "hint"]


def test_what_workings_there_are_and_what_one_takes_is_told(run: Run) -> None:
    assert [line.split()[0] for line in run("calc").out.splitlines()] == [
        "annular-gap",
        "annulus-fill",
        "restraint",
    ]
    assert "hole_mm" in run("calc", "annular-gap").out


def test_what_workings_there_are_and_what_one_lacks_is_told_as_data(run: Run) -> None:
    ended = run("calc", "--json")
    [line] = ended.lines
    assert ended.status == 0
    assert list(line["workings"]) == ["annular-gap", "annulus-fill", "restraint"]
    ended = run("calc", "annular-gap", "--json")
    assert (ended.status, ended.err) == (2, "")
    assert ended.lines == [
        {
            "error": {
                "message": "nothing is given for the diameter of the hole. "
                "Also flue_mm: nothing is given for the outside diameter of the flue",
                "where": "hole_mm",
                "hint": "give a number in mm",
            }
        }
    ]
    assert run("calc", "annular-gap", "x=1").err.splitlines()[0] == 'annular-gap: there is no input "x"'


# What is loaded


@pytest.mark.parametrize(
    "arguments",
    [
        ["--help"],
        ["judge", "a.toml"],
        ["judge", "--json", "a.toml"],
        ["facts", "new", "small.toml"],
        ["calc"],
    ],
)
def test_no_terminal_library_is_loaded_but_for_the_conversation(run: Run, arguments: list[str]) -> None:
    facts("a.toml", ACCEPTABLE)
    code = (
        "import sys, assistant.cli\n"
        f"sys.argv = ['throughwall', *{arguments!r}]\n"
        "try:\n    assistant.cli.main()\n"
        "except SystemExit as end:\n    status = end.code\n"
        "heavy = {'textual', 'prompt_toolkit', 'rich'} & {name.partition('.')[0] for name in sys.modules}\n"
        "sys.exit(f'{status}: {heavy}' if status or heavy else 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, FOREIGN if "--json" in arguments else "")


def test_output_that_nobody_reads_on_ends_quietly(run: Run) -> None:
    facts("a.toml", ACCEPTABLE)
    command = (
        f"'{sys.executable}' -c 'from assistant.cli import main; main()' judge {'a.toml ' * 40}| head -1"
    )
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, check=False)
    assert (done.stdout, done.stderr) == ("== a.toml\n", "")
