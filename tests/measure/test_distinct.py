"""Different values and rows, against numpy's own."""

import numpy as np
import pytest

from scantling.measure.distinct import distinct, distinct_rows


@pytest.mark.parametrize("size", [0, 1, 2, 1000])
@pytest.mark.parametrize("kind", ["int64", "float64", "bool", "int8"])
def test_values_as_numpy_finds_them(size: int, kind: str):
    values = np.random.default_rng(size).integers(-9, 9, size).astype(kind)
    before = values.copy()
    found = distinct(values)
    assert found.dtype == values.dtype
    assert found.tolist() == np.unique(values).tolist()
    assert (values == before).all()


def test_values_of_a_table():
    table = np.array([[3, 1], [1, 2]])
    assert distinct(table).tolist() == [1, 2, 3]


@pytest.mark.parametrize("size", [0, 1, 2, 1000])
@pytest.mark.parametrize("width", [1, 2, 3])
def test_rows_as_numpy_finds_them(size: int, width: int):
    rows = np.random.default_rng(size).integers(-3, 3, (size, width))
    assert distinct_rows(rows).tolist() == np.unique(rows, axis=0).tolist()
