"""RFC 8785 (JSON Canonicalization Scheme): its test data, as the ledger's digests use it.

Numbers and the structure: the RFC's published test data (read). The names of the sorting example: section 3.2.3 (from
memory, every line of it reproduced). The digest of the structure is computed, over bytes that were read.
"""

import hashlib
import json
import struct

import pytest
import rfc8785

STRUCTURE = r"""
{
  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}
"""
SPELT = (
    '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
    r'"string":"€$\u000f\nA' + "'" + r'B\"\\\\\"/"}'
)


@pytest.mark.parametrize(
    ("bits", "spelt"),
    [
        ("3eb0c6f7a0b5ed8d", "0.000001"),
        ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
        ("444b1ae4d6e2ef50", "1e+21"),
        ("8000000000000000", "0"),
        ("4340000000000001", "9007199254740994"),
    ],
)
def test_numbers_by_their_bits(bits, spelt):
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    assert rfc8785.dumps(number) == spelt.encode()


@pytest.mark.parametrize(
    ("written", "spelt"),
    [
        ("333333333.33333329", "333333333.3333333"),
        ("1E30", "1e+30"),
        ("4.50", "4.5"),
        ("2e-3", "0.002"),
        ("1e-27", "1e-27"),
    ],
)
def test_numbers_as_written(written, spelt):
    assert rfc8785.dumps(json.loads(written)) == spelt.encode()


def test_the_structure_has_one_spelling_and_one_digest():
    spelt = rfc8785.dumps(json.loads(STRUCTURE))
    assert spelt == SPELT.encode()
    assert len(spelt) == 118
    digest = hashlib.sha256(spelt).hexdigest()
    assert digest == "2d5e01a318d0f0879ab568c4be289c8b1f64ef8921a53c6277d5e069978baacb"


def test_names_are_sorted_by_utf_16_code_units():
    """The emoji's first unit is a surrogate, so it comes before the Hebrew letter, whose code point is smaller."""
    names = ["\u20ac", "\r", "\ufb33", "1", "\U0001f600", "\u0080", "\u00f6"]
    spelt = json.loads(rfc8785.dumps(dict.fromkeys(names)))
    assert list(spelt) == ["\r", "1", "\u0080", "\u00f6", "\u20ac", "\U0001f600", "\ufb33"]
