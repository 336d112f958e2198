"""The pinned versions: every requirement has one that it allows, and nothing but versions is in the file."""

import re
import tomllib
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
PINS = (ROOT / ".ci" / "constraints.txt").read_text(encoding="utf-8").splitlines()
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def test_only_names_and_versions():
    assert [line for line in PINS if not re.fullmatch(r"[A-Za-z0-9._-]+==[0-9][0-9a-z.]*", line)] == []


def test_every_requirement_is_pinned_to_a_version_that_it_allows():
    pinned = {canonicalize_name(name): version for name, version in (line.split("==") for line in PINS)}
    stated = PROJECT["project"]["dependencies"] + PROJECT["project"]["optional-dependencies"]["test"]
    requirements = [Requirement(line) for line in [*stated, *PROJECT["build-system"]["requires"]]]
    unmet = [r.name for r in requirements if not r.specifier.contains(pinned.get(canonicalize_name(r.name), "0"))]
    assert unmet == []
    assert canonicalize_name(PROJECT["project"]["name"]) not in pinned
