"""No container engine is needed: what the Dockerfile copies is there, and what it sets the service understands."""

import argparse
import ast
import fnmatch
import json
import re
from pathlib import Path

from service.commands import keys
from service.settings import read_settings

ROOT = Path(__file__).parents[2]
LINES = (ROOT / "Dockerfile").read_text(encoding="utf-8").replace("\\\n", " ").splitlines()


def instructions(word):
    return [line.split(maxsplit=1)[1] for line in LINES if line.startswith(word + " ")]


def copied_from_the_tree():
    arguments = [line.split() for line in instructions("COPY") if not line.startswith("--from=")]
    return [path for *sources, _ in arguments for path in sources]


def sent_to_the_build(path):
    """What .dockerignore leaves of a path: the last line that matches it or a folder above it decides."""
    above = [path, *(str(parent) for parent in Path(path).parents)]
    kept = True
    for line in (ROOT / ".dockerignore").read_text(encoding="utf-8").split():
        if any(fnmatch.fnmatch(name, line.removeprefix("!").removeprefix("**/")) for name in above):
            kept = line.startswith("!")
    return kept


def test_every_copied_path_exists_and_reaches_the_build():
    paths = copied_from_the_tree()
    assert {"pyproject.toml", "README.md", "service", "alembic"} <= set(paths)
    assert [path for path in paths if not (ROOT / path).exists() or not sent_to_the_build(path)] == []


def test_nothing_else_reaches_the_build():
    left_out = [
        ".git",
        ".venv",
        "tests",
        "service/__pycache__/app.pyc",
        "coilgap.sqlite3",
        "service/coilgap.sqlite3-wal",
    ]
    assert [path for path in left_out if sent_to_the_build(path)] == []


def test_the_environment_is_one_that_the_service_starts_with():
    stated = dict(pair.split("=", 1) for line in instructions("ENV") for pair in line.split())
    settings = read_settings({name: value for name, value in stated.items() if name.startswith("COILGAP_")})
    assert (settings.host, settings.needs_keys) == ("0.0.0.0", True)  # noqa: S104
    assert instructions("EXPOSE") == [str(settings.port)]
    assert settings.database_url.removeprefix("sqlite:///").startswith(instructions("VOLUME")[0])


def test_the_comment_says_how_to_issue_the_key_without_which_it_does_not_start():
    (shown,) = [line for line in LINES if line.startswith("#") and "docker run" in line]
    arguments = shown.split("python -m service ", 1)[1].split()
    parser = argparse.ArgumentParser()
    keys.add(parser.add_subparsers())
    assert parser.parse_args(arguments).scopes == [["evaluate", "catalogue"]]


def test_runs_as_a_plain_user_and_migrates_before_it_serves():
    assert instructions("USER") == ["coilgap"]
    assert json.loads(instructions("CMD")[0]) == ["sh", "-c", "python -m service migrate && exec python -m service"]


def test_health_check_is_a_program_that_asks_healthz():
    command = json.loads(re.search(r"CMD (\[.*\])$", instructions("HEALTHCHECK")[0])[1])
    assert command[:2] == ["python", "-c"]
    assert "/healthz" in {node.value for node in ast.walk(ast.parse(command[2])) if isinstance(node, ast.Constant)}
