"""unsafe-stock: which words of a material are known, as whole words in any case."""

import pytest

from scantling_rules.safety.unsafe_stock import hazard_of


@pytest.mark.parametrize(
    ("material", "why"),
    [
        ("PVC", "chlorine"),
        ("white pvc, matt", "chlorine"),
        ("Polyvinyl-chloride sheet", "chlorine"),
        ("polyvinylidene film", "chlorine"),
        ("ABS/PC blend", "smoke"),
        ("glass-fibre laminate", "resin"),
        ("Glass  fiber", "resin"),
        ("FR-4", "resin"),
        ("galvanised steel", "zinc"),
        ("sign film", "PVC"),
    ],
)
def test_a_hazard_is_known_by_its_words(material: str, why: str):
    found = hazard_of(material, "laser")
    assert found is not None
    assert why in found.why


@pytest.mark.parametrize(
    "material",
    ["cast acrylic", "PVC-free film", "vinyl free wallpaper", "non-pvc", "absorbent felt", "spc"],
)
def test_other_words_are_no_hazard(material: str):
    assert hazard_of(material, "laser") is None


def test_a_blade_may_cut_what_a_laser_may_not():
    assert hazard_of("PVC", "laser")
    assert hazard_of("PVC", "blade") is None
