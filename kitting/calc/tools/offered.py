"""Tools on offer: which are alike, what each offer brings of them, which of it is enough."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, product

from kitting.calc.tools.toolkit import Tool, likeness, most_alike

Sets = tuple[frozenset[str], ...]


@dataclass(frozen=True, slots=True)
class Brought:
    """What some offers bring: `tools` to search with, and by offer the codes of what it `brings`.

    Tools that are alike have the code of the first, whoever offers them. Where two alike are of
    use together, an offer brings a code of its own as well, and another if it has two of them.
    `twice` are, by the code of the first, the sets of codes any one of which makes two;
    `first_of` names the first by the code of the second that is searched with.
    """

    tools: tuple[Tool, ...]
    brings: Mapping[str, frozenset[str]]
    twice: Mapping[str, Sets]
    first_of: Mapping[str, str]

    def enough(self, codes: Iterable[str]) -> Iterator[frozenset[str]]:
        """The sets of codes that offers bring, any one of which has the tools of these codes."""
        count = Counter(self.first_of.get(code, code) for code in codes)
        each = (
            self.twice[code] if many > 1 else (frozenset([code]),) for code, many in count.items()
        )
        for parts in product(*each):
            yield frozenset[str]().union(*parts)


def brought(offered: Iterable[tuple[str, Tool]]) -> Brought:
    """What offers bring, from every (offer, tool); each tool has a code of its own."""
    alike: dict[Tool, list[tuple[str, Tool]]] = defaultdict(list)
    for offer, tool in offered:
        alike[likeness(tool)].append((offer, tool))
    tools = list[Tool]()
    brings: dict[str, set[str]] = defaultdict(set)
    twice: dict[str, Sets] = {}
    first_of: dict[str, str] = {}
    for like, found in alike.items():
        first, *others = (tool for _, tool in found[: most_alike(like)])
        tools += [first, *others]
        count = Counter(offer for offer, _ in found)
        for offer in count:
            brings[offer].add(first.code)
        if others:
            first_of |= {other.code: first.code for other in others}
            twice[first.code] = _twice(first.code, count, brings)
    return Brought(
        tuple(tools),
        {offer: frozenset(codes) for offer, codes in brings.items()},
        twice,
        first_of,
    )


def _twice(code: str, count: Mapping[str, int], brings: Mapping[str, set[str]]) -> Sets:
    """The sets that make two of a tool: two of one offer, or one each of two offers."""
    two = f"{code} twice"
    own: Sequence[str] = [f"{code} of {offer}" for offer in count]
    for one, (offer, many) in zip(own, count.items(), strict=True):
        brings[offer] |= {one, two} if many > 1 else {one}
    pairs = tuple(frozenset(pair) for pair in combinations(own, 2))
    return (frozenset([two]), *pairs) if max(count.values()) > 1 else pairs
