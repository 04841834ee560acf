"""Section values of rounds and rings against sectionproperties (finite elements) and handbook tables."""

from __future__ import annotations

import numpy as np
import pytest

from armature.strength.rounds import rounds


@pytest.mark.parametrize(("diameter", "bore"), [(25.4, 0.0), (6.35, 0.0), (101.6, 88.9)])
def test_round_and_ring_are_those_of_sectionproperties(diameter: float, bore: float) -> None:
    from sectionproperties.analysis.section import Section
    from sectionproperties.pre.library.primitive_sections import circular_section
    from sectionproperties.pre.library.steel_sections import circular_hollow_section

    sides = 128
    shape = (
        circular_hollow_section(diameter, (diameter - bore) / 2.0, sides) if bore else circular_section(diameter, sides)
    )
    shape.create_mesh((diameter / 12.0) ** 2)
    section = Section(shape)
    section.calculate_geometric_properties()
    section.calculate_warping_properties()
    section.calculate_plastic_properties()
    one = rounds(diameter, bore)
    # A polygon of n sides inside its circle loses (2 / 3)(pi / n)^2 of the area and twice that of the second moment:
    # 4e-4 and 8e-4 at 128 sides.
    assert section.get_area() == pytest.approx(float(one.area), rel=6e-4)
    assert section.get_ic()[0] == pytest.approx(float(one.inertia), rel=1.2e-3)
    assert section.get_j() == pytest.approx(float(one.polar), rel=2e-3)
    assert section.get_z()[0] == pytest.approx(float(one.elastic), rel=1.2e-3)
    assert section.get_s()[0] == pytest.approx(float(one.plastic), rel=1.2e-3)


def test_pipe_values_are_those_of_the_manual() -> None:
    """AISC Manual table 1-14, pipe 4 std, 4.50 in, design wall 0.221 in: A 2.96, I 6.82, S 3.03, Z 4.05 (memory)."""
    one = rounds(4.5, 4.5 - 2 * 0.221)
    assert float(one.area) == pytest.approx(2.96, abs=0.02)
    assert float(one.inertia) == pytest.approx(6.82, abs=0.02)
    assert float(one.elastic) == pytest.approx(3.03, abs=0.01)
    assert float(one.plastic) == pytest.approx(4.05, abs=0.01)


def test_the_shape_factor_of_a_solid_round_is_16_over_3_pi() -> None:
    one = rounds(np.array([3.0, 40.0]))
    np.testing.assert_allclose(one.plastic / one.elastic, 16.0 / (3.0 * np.pi), rtol=1e-12)
