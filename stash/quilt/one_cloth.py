"""Fabrics that may be one cloth: the one rule by which they are counted until somebody looks.

Two fabrics that look alike and were not said to be different are an undecided pair. What is
promised counts such a pair once; they never go into a charm quilt together.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

from stash.wording import counted

if TYPE_CHECKING:
    from networkx import Graph

__all__ = ["ALL_DECIDED", "FabricCount", "Undecided"]

# Above so many fabrics that hang together, the largest choice is not searched but built greedily,
# which promises a fabric too few at worst.
_SEARCHED = 30


@dataclass(frozen=True, slots=True)
class FabricCount:
    """How many different fabrics there are.

    Attributes
    ----------
    least : int
        Sure to be different: no two of them are an undecided pair.
    most : int
        If all that is not decided is different.
    undecided : int
        Pairs that are not decided; of fabrics that all look alike, each beyond the first is one.
    """

    least: int
    most: int
    undecided: int = 0

    def __str__(self) -> str:
        """Say it as a quilter reads it: “24 to 39 fabrics; 15 pairs not decided”."""
        fabrics = counted(self.most, "fabric")
        if not self.undecided:
            return fabrics
        pairs = f"{counted(self.undecided, 'pair')} not decided"
        return f"{self.least} to {fabrics}; {pairs}"

    def as_json(self) -> dict[str, int]:
        """Give it for programs."""
        return {"least": self.least, "most": self.most, "undecided_pairs": self.undecided}


@dataclass(frozen=True, slots=True)
class Undecided:
    """Pairs of fabrics that may be one cloth, the lesser number first."""

    pairs: frozenset[tuple[int, int]] = frozenset()

    @classmethod
    def of(cls, pairs: Iterable[tuple[int, int]]) -> Self:
        """Take pairs in any order; a fabric is no pair with itself."""
        return cls(frozenset((min(pair), max(pair)) for pair in pairs if pair[0] != pair[1]))

    def among(self, fabrics: Collection[int]) -> Undecided:
        """Give the pairs of which both are among some fabrics."""
        if not self.pairs:
            return self
        chosen = set(fabrics)
        return Undecided(frozenset(pair for pair in self.pairs if chosen.issuperset(pair)))

    def may_be_one(self, fabric: int, other: int) -> bool:
        """Whether two fabrics are an undecided pair."""
        return (min(fabric, other), max(fabric, other)) in self.pairs

    def count(self, fabrics: Collection[int]) -> FabricCount:
        """Count different fabrics, undecided pairs once."""
        here = self.among(fabrics)
        different = set(fabrics)
        unsure = {fabric for pair in here.pairs for fabric in pair}
        least = len(different) - len(unsure) + len(here._largest_choice())
        return FabricCount(least, len(different), here._open_pairs())

    def _open_pairs(self) -> int:
        """Count the pairs that have to be looked at if each is the same: no chain closes twice."""
        if not self.pairs:
            return 0
        import networkx  # only where something is undecided

        graph = self._graph()
        return len(graph) - int(networkx.number_connected_components(graph))

    def sets(self) -> list[tuple[int, ...]]:
        """Give the largest sets of fabrics that may all be one cloth, at least two in each."""
        if not self.pairs:
            return []
        import networkx  # only where something is undecided

        return sorted(tuple(sorted(one)) for one in networkx.find_cliques(self._graph()))

    def _largest_choice(self) -> list[int]:
        """Give a largest choice of the fabrics in pairs, no two of them a pair.

        Notes
        -----
        A largest independent set: a largest clique of the complement, searched for each set of
        fabrics that hang together.
        """
        if not self.pairs:
            return []
        import networkx  # only where something is undecided

        graph = self._graph()
        chosen: list[int] = []
        for together in networkx.connected_components(graph):
            part = graph.subgraph(together)
            if len(part) > _SEARCHED:
                chosen += _least_entangled_first(part)
            else:
                apart = networkx.complement(part)
                chosen += networkx.max_weight_clique(apart, weight=None)[0]
        return chosen

    def _graph(self) -> Graph[int]:
        import networkx  # only where something is undecided

        graph: Graph[int] = networkx.Graph()
        graph.add_edges_from(sorted(self.pairs))
        return graph


ALL_DECIDED = Undecided()


def _least_entangled_first(part: Graph[int]) -> list[int]:
    left, chosen = part.copy(), []
    while len(left):
        fabric = min(left, key=lambda one: (left.degree[one], one))
        chosen.append(fabric)
        left.remove_nodes_from([fabric, *left[fabric]])
    return chosen
