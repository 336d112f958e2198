"""Dixon, The Shock Absorber Handbook, 2nd ed.: the form from memory (high confidence), the results worked out."""

import pytest

from service.engine.loads import gas_rod_force_n


def test_gas_force_on_the_rod():
    assert gas_rod_force_n([2.5, 0.5], [22.0, 12.4]) == pytest.approx([950.332, 60.381], abs=1e-3)
