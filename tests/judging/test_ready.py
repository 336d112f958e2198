"""The bounded memory of verdicts: by the request's bytes, and what nobody has asked for the longest goes first."""

from service.judging.judged import Judged
from service.judging.ready import BESIDE_BYTES, Ready, ReadyAnswers


def ready(length=0, *, keep=False):
    return Ready(Judged(b"x" * length, ("clear", "sell", ""), {}, b"", "front", None, (None, {})), keep)


def test_what_was_kept_is_found_by_the_same_bytes_only():
    answers = ReadyAnswers()
    answers.keep(b'{"a":1}', ready())
    assert answers.find(b'{"a":1}') == ready()
    assert answers.find(b'{"a": 1}') is None


def test_there_is_room_for_so_much_and_the_longest_unasked_goes_first():
    answers = ReadyAnswers(room_bytes=3 * BESIDE_BYTES)
    for name in (b"first", b"second", b"third"):
        answers.keep(name, ready())
    answers.find(b"first")
    answers.keep(b"fourth", ready())
    assert [name for name in (b"first", b"second", b"third", b"fourth") if answers.find(name)] == [
        b"first",
        b"third",
        b"fourth",
    ]


def test_keeping_the_same_again_takes_no_more_room():
    answers = ReadyAnswers(room_bytes=2 * BESIDE_BYTES)
    answers.keep(b"other", ready())
    for _ in range(5):
        answers.keep(b"same", ready(keep=True))
    assert answers.find(b"other") is not None
    assert answers.find(b"same").keep


def test_one_that_is_larger_than_the_room_is_not_kept_and_the_room_is_as_before():
    answers = ReadyAnswers(room_bytes=2 * BESIDE_BYTES)
    answers.keep(b"large", ready(3 * BESIDE_BYTES))
    assert answers.find(b"large") is None
    answers.keep(b"small", ready())
    answers.keep(b"another", ready())
    assert answers.find(b"small") is not None
