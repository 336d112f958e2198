"""Judging questions: what each names is looked up, and the engine is called once for all of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from service.catalogue.combination import Combination, combine, look_up
from service.catalogue.references import Lookup
from service.engine import evaluate
from service.engine.refusal import RefusedError
from service.engine.remedies import Remedy, remedies
from service.judging.judged import Judged, judged
from service.judging.mending import failing, mended, wants_remedies

Question = dict[str, Any]
MENDED_AT_ONCE = 128
"""Builds whose remedies are found together: some seconds of a batch."""


def judge(catalogue: Lookup, question: Question) -> Judged:
    """The verdict on one checked question. Raises ``RefusedError`` where it cannot be."""
    combination = combine(catalogue, question)
    verdicts = evaluate([combination.build])
    wanted = failing(verdicts, [0] if wants_remedies(question) else [])
    found = remedies(verdicts, wanted)
    return judged(combination, question, mended(verdicts.record(0), question, combination, found[0] if found else ()))


def judge_all(
    catalogue: Lookup, questions: Sequence[Question], go_on: Callable[[], object] = lambda: None
) -> list[Judged | RefusedError]:
    """A verdict or a refusal for each question, in their order. ``go_on`` is asked before each longer step, and may
    raise.
    """
    look_up(catalogue, questions)
    combined = [_combined(catalogue, question) for question in questions]
    places = [place for place, each in enumerate(combined) if isinstance(each, Combination)]
    verdicts = evaluate([each.build for each in combined if isinstance(each, Combination)])
    wanted = failing(verdicts, [row for row, place in enumerate(places) if wants_remedies(questions[place])])
    found: dict[int, tuple[Remedy, ...]] = {}
    for some in (wanted[first : first + MENDED_AT_ONCE] for first in range(0, len(wanted), MENDED_AT_ONCE)):
        go_on()
        found.update(zip(some, remedies(verdicts, some), strict=True))
    rows = {place: row for row, place in enumerate(places)}

    def answer(combination: Combination, place: int) -> Judged:
        row, question = rows[place], questions[place]
        return judged(combination, question, mended(verdicts.record(row), question, combination, found.get(row, ())))

    return [answer(each, place) if isinstance(each, Combination) else each for place, each in enumerate(combined)]


def _combined(catalogue: Lookup, question: Question) -> Combination | RefusedError:
    try:
        return combine(catalogue, question)
    except RefusedError as error:
        return error
