"""Judging questions: what each names is looked up, and the engine is called once for all of them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import count
from typing import Any

from service.catalogue.combination import Combination, combine, named
from service.catalogue.references import Lookup, References
from service.engine import evaluate
from service.engine.refusal import RefusedError
from service.judging.judged import Judged, judged

Question = dict[str, Any]


def judge(catalogue: Lookup, question: Question) -> Judged:
    """The verdict on one checked question. Raises ``RefusedError`` where it cannot be."""
    combination = combine(catalogue, question)
    return judged(combination, question, evaluate([combination.build]).record(0))


def judge_all(references: References, questions: Sequence[Question]) -> list[Judged | RefusedError]:
    """A verdict or a refusal for each question, in their order, all at one state of the catalogue."""
    catalogue = references.standing()
    catalogue.heads(None, {sku for question in questions for sku in named(question)[1]})  # all of them in one query
    combined = [_combined(catalogue, question) for question in questions]
    verdicts = evaluate([each.build for each in combined if isinstance(each, Combination)])
    rows = count()
    return [
        judged(each, question, verdicts.record(next(rows))) if isinstance(each, Combination) else each
        for each, question in zip(combined, questions, strict=True)
    ]


def _combined(catalogue: Lookup, question: Question) -> Combination | RefusedError:
    try:
        return combine(catalogue, question)
    except RefusedError as error:
        return error
