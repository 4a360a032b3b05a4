"""A schematic in pieces: chains broken, long buses continued, and what is led on marked by references at both ends."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from linter.drawing.schematic import Chain, End, Hub, Item, Reference, Schematic
from linter.model.circuit import Circuit


@dataclass(slots=True)
class Cut:
    """The whole, as far as it is divided already.  Chains between two hubs are whole until a piece leaves one out.

    ``family``: for a chain that hangs on no hub, what it was broken off from, -1 for none.  ``begins``: for a chain
    broken off from another, that one and how far along it this one begins.
    """

    circuit: Circuit
    hubs: list[Hub]
    chains: list[Chain]
    at: dict[int, list[int]] = field(default_factory=dict)
    family: dict[int, int] = field(default_factory=dict)
    begins: dict[int, tuple[int, int]] = field(default_factory=dict)
    pairs: int = 0

    @classmethod
    def of(cls, made: Schematic, circuit: Circuit) -> Cut:
        cut = cls(circuit, list(made.hubs), list(made.chains), pairs=len(made.chains))
        for chain in made.chains:
            cut._note(chain)
        return cut

    def _note(self, chain: Chain) -> None:
        ends = {e.hub for e in (chain.left, chain.right) if e is not None}
        for hub in ends:
            self.at.setdefault(hub, []).append(chain.index)
        if not ends:
            self.family.setdefault(chain.index, -1)

    def _forget(self, chain: Chain) -> None:
        for end in (chain.left, chain.right):
            if end is not None and chain.index in self.at.get(end.hub, ()):
                self.at[end.hub].remove(chain.index)

    def name(self, hub: int) -> str:
        """What a hub is called: its element, or the point of the circuit."""
        made = self.hubs[hub]
        if made.element is not None:
            return made.element.name
        return self.circuit.nodes[made.node].name if made.node >= 0 else ""

    def towards(self, chain: Chain, at: int, right: bool) -> str:
        """The name of what stands next in ``chain`` to one side of place ``at``."""
        items = chain.items[at:] if right else chain.items[:at][::-1]
        for item in items:
            if item.element is not None:
                return item.element.name
            if item.reference is not None:
                return item.reference.towards
        end = chain.right if right else chain.left
        if end is not None:
            return self.name(end.hub)
        return self.circuit.nodes[chain.nodes[at]].name if chain.nodes[at] >= 0 else ""

    def halves(self, chain: Chain, at: int, number: int) -> tuple[Chain, Chain]:
        """What is left and what is right of place ``at``, a reference at the end of each."""
        node = chain.nodes[at]
        out = Item("reference", None, node, node, reference=Reference(number, True, self.towards(chain, at, True)))
        into = Item("reference", None, node, node, reference=Reference(number, False, self.towards(chain, at, False)))
        # The circle between two cables is not needed where a reference stands.
        end = at - 1 if at and chain.items[at - 1].kind == "terminal" else at
        start = at + 1 if at < len(chain.items) and chain.items[at].kind == "terminal" else at
        left = Chain(chain.index, [*chain.items[:end], out], [*chain.nodes[: end + 1], -1], chain.left, None)
        right = Chain(chain.index, [into, *chain.items[start:]], [-1, *chain.nodes[start:]], None, chain.right)
        return left, right

    def breakable(self, chain: Chain) -> list[int]:
        """The places at which a chain may be broken so that something is won."""
        real = [n for n, item in enumerate(chain.items) if item.element is not None]
        return [k for k in range(real[0] + 1, real[-1] + 1) if chain.nodes[k] >= 0] if real else []

    def split_chain(self, index: int, at: int) -> None:
        """Break a chain for good: its right part becomes a chain of its own."""
        chain = self.chains[index]
        self._forget(chain)
        left, right = self.halves(chain, at, self.pairs)
        self.pairs += 1
        right.index = len(self.chains)
        whole, along = self.begins.get(index, (index, 0))
        # the reference at which a piece begins is none of the chain's own things
        self.begins[right.index] = whole, along + at - (chain.items[0].reference is not None)
        self.chains[index] = left
        self.chains.append(right)
        known = self.family.pop(index, None)
        for half, other in ((left, right), (right, left)):
            if half.left is None and half.right is None:
                end = other.left or other.right
                self.family[half.index] = end.hub if end is not None else known if known is not None else -1
            self._note(half)

    def split_hub(self, hub: int, shares: Sequence[Sequence[int]]) -> list[int]:
        """Divide what hangs on a hub: each share but the first gets a hub of its own, led on from the one before."""
        made = self.hubs[hub]
        parts = [hub]
        for share in shares[1:]:
            more = replace(made, index=len(self.hubs), continued=True)
            self.hubs.append(more)
            for index in share:
                chain = self.chains[index]
                self.at[hub].remove(index)
                self.at.setdefault(more.index, []).append(index)
                # A chain from a hub to itself stays with the first.
                if chain.left is not None and chain.left.hub == hub:
                    chain.left = End(more.index, chain.left.port)
                if chain.right is not None and chain.right.hub == hub:
                    chain.right = End(more.index, chain.right.port)
            link = Chain(len(self.chains), [], [made.node], End(parts[-1]), End(more.index))
            self.chains.append(link)
            left, right = self.halves(link, 0, self.pairs)
            self.pairs += 1
            right.index = len(self.chains)
            self.chains[left.index] = left
            self.chains.append(right)
            self._note(left)
            self._note(right)
            parts.append(more.index)
        return parts

    def piece(self, hubs: Iterable[int], loose: Iterable[int] = ()) -> Schematic:
        """The part with these hubs and with these chains that hang on none, as a schematic of its own.

        A chain to a hub outside is drawn where its left end is; the other side gets the reference only.
        """
        made = Schematic()
        number = {h: n for n, h in enumerate(sorted(hubs))}
        made.hubs = [replace(self.hubs[h], index=n) for h, n in number.items()]
        # the pieces of a chain stand in the order in which they follow each other
        wanted = sorted(
            {c for h in number for c in self.at.get(h, ())} | set(loose), key=lambda c: self.begins.get(c, (c, 0))
        )
        for index in wanted:
            chain = self.chains[index]
            inside = [e is None or e.hub in number for e in (chain.left, chain.right)]
            if not all(inside):
                left, right = self.halves(chain, len(chain.items), index)
                chain = left if inside[0] else right
            ends = [End(number[e.hub], e.port) if e is not None else None for e in (chain.left, chain.right)]
            made.chain(chain.items, chain.nodes, ends[0], ends[1])
        return made

    def neighbours(self, hub: int) -> list[int]:
        """The hubs at the other ends of its chains, as often as there are chains."""
        found = []
        for index in self.at.get(hub, ()):
            chain = self.chains[index]
            found += [e.hub for e in (chain.left, chain.right) if e is not None and e.hub != hub]
        return found

    def is_loop(self, index: int) -> bool:
        """Whether a chain leads from a hub to the same hub."""
        chain = self.chains[index]
        return chain.left is not None and chain.right is not None and chain.left.hub == chain.right.hub
