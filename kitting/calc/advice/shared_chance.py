"""Looks of one item at several places: what is believed of its chance is the same for all of them.

Where the places have the same chance they share one unknown chance, Beta distributed; where the
chance of some is moved (heat, age), all stand at the same quantile of what is believed of each.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from kitting.calc.advice.failure_rates import beta_below
from kitting.calc.advice.looks import Looks, failures, needed, renewed_whole, together

if TYPE_CHECKING:
    import numpy as np

_FEWEST_NODES = 60
_HALVINGS = 50
_Belief = tuple[float, float]  # alpha and beta


def needed_at_all(looks: Sequence[Looks]) -> tuple[float, ...]:
    """The chance that 0, 1, … new ones are needed at all places together."""
    shared = [one for one in looks if _belief(one) is not None]
    apart = [needed(one) for one in looks if _belief(one) is None]
    if len(shared) == 1:
        return together([*apart, needed(shared[0])])
    return together([*apart, *([_shared(tuple(shared))] if shared else [])])


def _belief(looks: Looks) -> _Belief | None:
    if looks.weight is None or not looks.most or not 0.0 < looks.chance < 1.0:
        return None
    return looks.chance * looks.weight, (1.0 - looks.chance) * looks.weight


@lru_cache(maxsize=1024)
def _shared(looks: tuple[Looks, ...]) -> tuple[float, ...]:
    import numpy as np

    classes: dict[_Belief, list[Looks]] = defaultdict(list)
    for one in looks:
        if (belief := _belief(one)) is not None:
            classes[belief].append(one)
    # Sums of products of as many chances as there are looks: exact from half as many nodes on.
    degree = sum(sum(at) for one in looks for at in one.each)
    first = max(classes, key=lambda belief: (len(classes[belief]), belief))
    nodes, weights = beta_nodes(max(degree // 2 + 1, _FEWEST_NODES), *first)
    found = np.zeros(sum(one.most for one in looks) + 1)
    for node, weight in zip(nodes, weights, strict=True):
        at = {belief: _same_quantile(float(node), first, belief) for belief in classes}
        spread = together(
            [_given(one, at[belief]) for belief, some in classes.items() for one in some]
        )
        found += weight * np.array(spread)
    return tuple(float(chance) for chance in np.clip(found, 0.0, 1.0))


def _given(looks: Looks, chance: float) -> tuple[float, ...]:
    """How many new ones looks ask for, where each fails with a chance that is known."""
    if not looks.group:
        return failures(looks.most, chance)
    return renewed_whole(looks.each, chance)


def _same_quantile(chance: float, believed: _Belief, other: _Belief) -> float:
    """Where `other` lies as high as `chance` does in what is `believed`; by halving."""
    if other == believed:
        return chance
    share = beta_below(chance, *believed)
    low, high = 0.0, 1.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if beta_below(middle, *other) < share:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def beta_nodes(count: int, alpha: float, beta: float) -> tuple[np.ndarray, np.ndarray]:
    """Nodes and weights of Gauss quadrature for a Beta(alpha, beta): exact to degree 2·count − 1.

    Eigenvalues of the matrix of the recurrence of Jacobi polynomials (NIST Digital Library of
    Mathematical Functions, 3.5(vi) and 18.9).
    """
    import numpy as np

    a, b = beta - 1.0, alpha - 1.0  # exponents of 1 − x and 1 + x on −1 to 1
    k = np.arange(1, count, dtype=float)
    twice = 2 * k + a + b
    middle = np.empty(count)
    middle[0] = (b - a) / (a + b + 2)
    middle[1:] = (b * b - a * a) / (twice * (twice + 2))
    beside = 4 * k * (k + a) * (k + b) / (twice**2 * (twice + 1))
    # For the first this is 1, also where a + b is −1.
    beside[1:] *= (k[1:] + a + b) / (twice[1:] - 1)
    matrix = np.diag(middle) + np.diag(np.sqrt(beside), 1) + np.diag(np.sqrt(beside), -1)
    values, vectors = np.linalg.eigh(matrix)
    return np.clip((values + 1) / 2, 0.0, 1.0), vectors[0] ** 2
