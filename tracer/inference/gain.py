"""Expected information of an answer, in bits."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def binary_entropy(probability: Array) -> Array:
    """h(p) = -p log2 p - (1 - p) log2 (1 - p), with h(0) = h(1) = 0.

    >>> float(binary_entropy(np.array([0.5]))[0])
    1.0
    """
    inside = np.clip(probability, 1e-300, 1.0)
    outside = np.clip(1 - probability, 1e-300, 1.0)
    return np.asarray(-probability * np.log2(inside) - (1 - probability) * np.log2(outside))


def expected_gain(answer: Array, target: Array) -> float:
    """Sum over targets of I(target; answer): `answer` (A,) are P(a), `target` (A, T) are P(target | a).

    A perfect answer about an even question is worth one bit:

    >>> expected_gain(np.array([0.5, 0.5]), np.array([[1.0], [0.0]]))
    1.0
    """
    mixture = answer @ target
    gain = binary_entropy(mixture) - answer @ binary_entropy(target)
    return float(np.maximum(gain, 0.0).sum())
