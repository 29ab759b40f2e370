"""The search for eigenvalues against all of them found at once."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import eigh
from scipy.sparse import block_diag, csr_array

from generator.frame import lanczos
from generator.frame.lanczos import largest
from generator.frame.model import Array


def problem(size: int, count: int, seed: int = 3) -> tuple[Array, list[Array]]:
    """A stiffness, and losses that are neither positive nor negative definite."""
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(size, size))
    losses = [rng.normal(size=(size, size)) for _ in range(count)]
    return root @ root.T + size * np.eye(size), [a + a.T for a in losses]


def found(stiffness: Array, losses: list[Array]) -> lanczos.Largest:
    blocks = csr_array(block_diag(losses))
    return largest(lambda f, _: np.linalg.solve(stiffness, f), blocks, np.zeros(len(losses)), 1e-8)


@pytest.mark.parametrize("size", [1, 2, 7, 40, 150])
def test_values_and_vectors_are_those_of_a_dense_solver(size: int) -> None:
    """LAPACK's generalized symmetric solver, all eigenvalues; tolerance that of the search, squared."""
    stiffness, losses = problem(size, 3)
    ours = found(stiffness, losses)
    assert ours.found.all()
    for loss, value, vector in zip(losses, ours.value, ours.vector, strict=True):
        assert value == pytest.approx(eigh(loss, stiffness, eigvals_only=True)[-1], rel=1e-10)
        assert loss @ vector == pytest.approx(
            value * stiffness @ vector, abs=1e-6 * np.abs(loss).max()
        )
        assert vector @ stiffness @ vector == pytest.approx(1.0, rel=1e-9)


def test_a_basis_that_is_begun_anew_finds_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    stiffness, losses = problem(150, 2)
    whole = found(stiffness, losses)
    monkeypatch.setattr(lanczos, "STEPS", 14)
    monkeypatch.setattr(lanczos, "ROUNDS", 200)
    again = found(stiffness, losses)
    assert again.found.all()
    assert again.value == pytest.approx(whole.value, rel=1e-10)


def test_losses_that_do_not_fit_together_go_one_after_another(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    stiffness, losses = problem(120, 5)
    whole = found(stiffness, losses)
    monkeypatch.setattr(lanczos, "ROOM", 2 * (lanczos.STEPS + 1) * 120 * 2)
    assert found(stiffness, losses).value == pytest.approx(whole.value, rel=1e-10)


def test_a_search_that_is_given_up_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lanczos, "STEPS", 4)
    monkeypatch.setattr(lanczos, "ROUNDS", 2)
    assert not found(*problem(150, 2)).found.any()


def test_a_loss_of_nothing_has_the_value_nothing() -> None:
    stiffness, _ = problem(20, 1)
    ours = found(stiffness, [np.zeros((20, 20))])
    assert ours.found.all()
    assert ours.value == pytest.approx([0.0], abs=1e-15)
