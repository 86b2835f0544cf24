"""A logistic score whose weights are named, so that nobody has to keep an order by faith."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from reviews.imaging.arrays import Floats64


@dataclass(frozen=True, eq=False)
class Score:
    """How likely something is, from named features: 1 / (1 + exp(-(weights · features + bias))).

    ``features`` is the order of the vector, ``weights`` what each name weighs (nothing where it is not named), and
    ``least`` the likelihood from which on it is taken for so.
    """

    features: tuple[str, ...]
    weights: Mapping[str, float]
    bias: float
    least: float

    def __post_init__(self) -> None:
        strange = set(self.weights) - set(self.features)
        if strange:
            raise ValueError(f"No feature is called {', '.join(sorted(strange))}.")

    @cached_property
    def weight_vector(self) -> Floats64:
        """The weights in the order of the features, (n,)."""
        return np.array([self.weights.get(name, 0.0) for name in self.features])

    def of(self, seen: Mapping[str, float]) -> float:
        """Give the likelihood, 0 to 1, of what was seen; every feature must be there, and no other."""
        return float(1 / (1 + np.exp(-(self.vector(seen) @ self.weight_vector + self.bias))))

    def vector(self, seen: Mapping[str, float]) -> Floats64:
        """Give what was seen in the order of the features, (n,)."""
        return feature_vector(self.features, seen)


def feature_vector(features: tuple[str, ...], seen: Mapping[str, float]) -> Floats64:
    """Give named values in the order of the features, (n,); raises ValueError where the names differ."""
    if seen.keys() != set(features):
        raise ValueError(f"These features differ from the ones weighed: {sorted(seen.keys() ^ set(features))}.")
    return np.array([seen[name] for name in features])
