"""The README's two commands, and that continuous integration runs the very one that a reader is told."""

import re
import subprocess
from pathlib import Path

ROOT = Path(__file__).parents[2]
MAKE_VENV = "python3.11 -m venv .venv && .venv/bin/pip install -c .ci/constraints.txt "
SERVE = MAKE_VENV + ". && .venv/bin/python -m service"
TEST = MAKE_VENV + "'.[test]' && .venv/bin/python -m pytest"


def commands_in_the_readme():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    blocks = re.findall(r"^```\w*\n(.*?)^```", text, flags=re.MULTILINE | re.DOTALL)
    lines = "".join(blocks).replace("\\\n", "").splitlines()
    return [re.sub(r"\s+", " ", line).strip() for line in lines if "venv" in line]


def test_readme_sets_everything_up_with_two_commands():
    assert commands_in_the_readme() == [SERVE, TEST]


def test_continuous_integration_runs_the_readme_test_command():
    lines = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert f"{TEST} || exit 1" in lines


def test_continuous_integration_stops_at_the_first_failure(tmp_path):
    # The script alone in an empty tree: no constraints, so pip fails, and nothing after it may run.
    (tmp_path / ".ci").mkdir()
    script = tmp_path / ".ci" / "run"
    script.write_bytes((ROOT / ".ci" / "run").read_bytes())
    assert (ROOT / ".ci" / "run").stat().st_mode & 0o100
    fake = tmp_path / "bin" / "python3.11"
    fake.parent.mkdir()
    fake.write_text("#!/bin/sh\necho made a venv\nexit 3\n", encoding="utf-8")
    fake.chmod(0o755)
    nothing_to_install = tmp_path / "bin" / "apt-get"
    nothing_to_install.write_text("#!/bin/sh\n", encoding="utf-8")
    nothing_to_install.chmod(0o755)
    ended = subprocess.run(
        ["bash", script], capture_output=True, text=True, check=False, env={"PATH": f"{fake.parent}:/usr/bin:/bin"}
    )
    assert (ended.returncode, ended.stdout, ended.stderr) == (1, "made a venv\n", "")
