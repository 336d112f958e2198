"""The benchmarks start, measure and print; how fast anything is, they tell a reader and no test."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent
RATIO = re.compile(r"^(\S.*?) {2,}.*?([0-9][0-9,.]*) x$", re.MULTILINE)
SECONDS = 120

BRIEF = {
    "engine.py": (
        ("--rows", "40", "--rounds", "1"),
        {
            "the same builds one by one / in bulk",
            "in bulk / bare NumPy over as many numbers",
            "one evaluation with its record / a build in bulk",
        },
    ),
    "surveyed.py": (
        ("--rows", "20", "--rounds", "1"),
        {"one evaluation, surveyed / taped", "in bulk, surveyed / taped"},
    ),
    "search.py": (
        ("--combinations", "500", "--sample", "20", "--rounds", "1"),
        {"all evaluated / search, 40 mm wanted", "all evaluated / search, no lift wanted"},
    ),
    "sweep.py": (
        ("--axles", "4", "--parts", "60", "--combinations", "150", "--requests", "10"),
        {
            "one process / two, by the clock",
            "shelf check from the table / bare endpoint",
            "judged on the spot / from the table",
        },
    ),
    "imports.py": (("--parts", "50"), {"import / bare inserts"}),
    "soak.py": (("--seconds", "1"), {"growth from the second fifth of the time to the last"}),
    "http_requests.py": (
        ("--requests", "20", "--rounds", "1", "--batch", "10"),
        {
            "bare",
            "counter page, other loads",
            *(
                f"{kept}, {what}"
                for kept in ("unrecorded", "recorded")
                for what in (
                    "the same again",
                    "other loads",
                    "other parts",
                    "one after the other",
                    "in batches",
                    "batches / one after the other",
                    "batches / other loads",
                )
            ),
        },
    ),
}


@pytest.mark.parametrize("script", BRIEF)
def test_a_benchmark_prints_its_ratios(script, tmp_path):
    options, names = BRIEF[script]
    run = subprocess.run(
        [sys.executable, "-W", "error", HERE / script, *options],
        cwd=tmp_path, capture_output=True, text=True, timeout=SECONDS, check=False,
    )  # fmt: skip
    assert (run.returncode, run.stderr) == (0, "")
    ratios = {name: float(ratio.replace(",", "")) for name, ratio in RATIO.findall(run.stdout)}
    assert ratios.keys() == names
    assert all(ratio > 0.0 for ratio in ratios.values())
