"""Sums done all at once against the same sums written out."""

import numpy as np
import pytest

from tracer.inference.bunches import others, summed_out
from tracer.inference.elimination import forward, make_order, make_plan

RANDOM = np.random.default_rng(3)


def test_the_product_of_all_others_never_divides():
    values = RANDOM.random((2, 5, 3))
    values[0, 1] = 0.0
    for place in range(5):
        assert others(values)[:, place] == pytest.approx(np.delete(values, place, axis=1).prod(axis=1))
    assert others(values[:, :1]) == pytest.approx(1.0)


@pytest.mark.parametrize(("batch", "rows"), [(1, 1), (1, 7), (7, 1), (7, 7)])
def test_a_bunch_is_the_product_of_its_sums(batch, rows):
    tables, product = RANDOM.normal(size=(batch, 4, 2, 3, 5)), RANDOM.random((rows, 4, 5))
    product[-1] = product[0]
    expected = np.einsum(
        "rcabk,rck->rcab",
        np.broadcast_to(tables, (max(batch, rows), 4, 2, 3, 5)),
        np.broadcast_to(product, (max(batch, rows), 4, 5)),
    ).prod(axis=1)
    assert summed_out(tables, product) == pytest.approx(expected)


@pytest.mark.parametrize(
    "scopes",
    [
        ((0, 1, 3), (3,), (2, 3)),
        ((1, 3), (0, 3), (2, 3)),
        ((0, 3), (0, 1, 3), (2, 3), (3,)),
        ((0, 2), (1, 2, 3), (3,), (0, 1)),
        ((3,), (3,), (0,)),
    ],
)
@pytest.mark.parametrize("shared", [0, 1, 2])
def test_an_elimination_is_the_sum_over_everything(scopes, shared):
    sizes = {0: 2, 1: 3, 2: 4, 3: 5}
    tables = [
        RANDOM.normal(size=(1 if number % 2 < shared else 6, *(sizes[v] for v in scope)))
        for number, scope in enumerate(scopes)
    ]
    plan = make_plan(scopes, sizes, make_order(scopes, sizes).variables)
    total, _ = forward(plan, tables)
    wide = [np.broadcast_to(table, (6, *table.shape[1:])) for table in tables]
    spelled = ",".join("r" + "".join("abcd"[v] for v in scope) for scope in scopes)
    assert np.broadcast_to(total, 6) == pytest.approx(np.einsum(f"{spelled}->r", *wide))
