"""Merkle trees as in RFC 9162, section 2.1: roots, proofs, and how they are verified.

A leaf is hashed with a zero byte before it and a node with a one, so that neither passes for
the other. The tree grows at its end only. Every complete subtree is kept once computed, level
above level; a root, an inclusion proof or a consistency proof then needs a few dozen hashes
for any size up to the present one, and adding a leaf costs two hashes on average. Nodes lie
end to end in one array a level, 64 bytes for each leaf in all.

The functions that verify take nothing on trust: a proof of the wrong length is no proof, and
a proof about size zero proves nothing (RFC 9162 asks for 0 < m).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from hashlib import sha256
from struct import iter_unpack
from typing import Final

HASH_BYTES: Final = 32
EMPTY_ROOT: Final = sha256(b"").digest()

_PAIR_BYTES: Final = 2 * HASH_BYTES


def leaf_hash(data: bytes) -> bytes:
    """The hash of a leaf that holds ``data``.

    >>> leaf_hash(b"").hex()[:16]
    '6e340b9cffb37a98'
    """
    return sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """The hash of a node over two others.

    >>> node_hash(leaf_hash(b""), leaf_hash(bytes(1))).hex()[:16]
    'fac54203e7cc696c'
    """
    return sha256(b"\x01" + left + right).digest()


class MerkleTree:
    """A tree that grows at its end.

    >>> tree = MerkleTree([leaf_hash(b""), leaf_hash(bytes(1))])
    >>> tree.size, tree.root().hex()[:16]
    (2, 'fac54203e7cc696c')
    """

    def __init__(self, leaf_hashes: Iterable[bytes] = ()) -> None:
        self._levels = [bytearray()]
        self.extend(leaf_hashes)

    @property
    def size(self) -> int:
        """How many leaves it has."""
        return len(self._levels[0]) // HASH_BYTES

    def leaf(self, index: int) -> bytes:
        """The hash of one leaf.

        Raises:
            ValueError: there is no such leaf.
        """
        if not 0 <= index < self.size:
            raise ValueError(f"there is no leaf {index} among {self.size}")
        return self._node(0, index)

    def extend(self, leaf_hashes: Iterable[bytes]) -> None:
        """Add leaves at the end, given by their hashes."""
        self._levels[0] += b"".join(leaf_hashes)
        self._raise_levels()

    def append(self, leaf: bytes) -> None:
        """Add one leaf at the end, given by its hash."""
        self.extend((leaf,))

    def adopt(self, levels: Sequence[bytes]) -> None:
        """Add a complete subtree whose levels were computed elsewhere, leaves first.

        Raises:
            ValueError: it is not complete, or cannot stand at the end as it is.
        """
        height = len(levels) - 1
        count = 1 << height
        is_complete = all(
            len(level) == (count >> at) * HASH_BYTES for at, level in enumerate(levels)
        )
        if not levels or not is_complete or self.size % count:
            raise ValueError("only a complete subtree can be added, and where one can stand")
        for at, level in enumerate(levels):
            if at == len(self._levels):
                self._levels.append(bytearray())
            self._levels[at] += level
        self._raise_levels()

    def levels(self) -> tuple[bytes, ...]:
        """The nodes of its complete subtrees, level by level, leaves first."""
        return tuple(bytes(level) for level in self._levels)

    def root(self, size: int | None = None) -> bytes:
        """The root, or what the root was when there were ``size`` leaves.

        Raises:
            ValueError: there never were so many.
        """
        size = self.size if size is None else size
        self._check_size(size)
        return self._subtree(0, size) if size else EMPTY_ROOT

    def inclusion_proof(self, index: int, size: int | None = None) -> tuple[bytes, ...]:
        """What shows that leaf ``index`` is in the tree of ``size`` leaves (RFC 9162, 2.1.3.1).

        Raises:
            ValueError: there is no such leaf in it.
        """
        size = self.size if size is None else size
        self._check_size(size)
        if not 0 <= index < size:
            raise ValueError(f"there is no leaf {index} among {size}")
        proof: list[bytes] = []
        begin, end = 0, size
        while end - begin > 1:
            middle = begin + _left_size(end - begin)
            if index < middle:
                proof.append(self._subtree(middle, end))
                end = middle
            else:
                proof.append(self._subtree(begin, middle))
                begin = middle
        return tuple(reversed(proof))

    def consistency_proof(self, first: int, second: int | None = None) -> tuple[bytes, ...]:
        """What shows that the tree of ``second`` leaves begins with that of ``first``.

        As in RFC 9162, 2.1.4.1. A tree begins with itself: that proof is empty.

        Raises:
            ValueError: the sizes are not 0 < first <= second <= the present size.
        """
        second = self.size if second is None else second
        self._check_size(second)
        if not 0 < first <= second:
            raise ValueError(f"a tree of {second} leaves cannot begin with one of {first}")
        proof: list[bytes] = []
        begin, end = 0, second
        is_whole = True  # whether the part looked at begins where the first tree does
        while end != first:
            middle = begin + _left_size(end - begin)
            if first <= middle:
                proof.append(self._subtree(middle, end))
                end = middle
            else:
                proof.append(self._subtree(begin, middle))
                begin = middle
                is_whole = False
        if not is_whole:
            proof.append(self._subtree(begin, end))
        return tuple(reversed(proof))

    def _check_size(self, size: int) -> None:
        if not 0 <= size <= self.size:
            raise ValueError(f"the tree has {self.size} leaves and never had {size}")

    def _node(self, level: int, index: int) -> bytes:
        at = index * HASH_BYTES
        return bytes(self._levels[level][at : at + HASH_BYTES])

    def _subtree(self, begin: int, end: int) -> bytes:
        """The hash over the leaves from ``begin`` up to ``end``, as the tree divides them."""
        count = end - begin
        if count & (count - 1) == 0 and begin % count == 0:
            height = count.bit_length() - 1
            return self._node(height, begin >> height)
        middle = begin + _left_size(count)
        return node_hash(self._subtree(begin, middle), self._subtree(middle, end))

    def _raise_levels(self) -> None:
        """Compute the nodes that are now complete, from the leaves up."""
        height = 0
        while len(self._levels[height]) >= _PAIR_BYTES:
            below = self._levels[height]
            if height + 1 == len(self._levels):
                self._levels.append(bytearray())
            above = self._levels[height + 1]
            begin, end = len(above) * 2, len(below) - len(below) % _PAIR_BYTES
            # A tree of a million leaves is built here: the hashing is not to wait for calls.
            pairs = iter_unpack(f"{_PAIR_BYTES}s", bytes(below[begin:end]))
            above += b"".join([sha256(b"\x01" + pair).digest() for (pair,) in pairs])
            height += 1


def verify_inclusion(
    leaf: bytes, index: int, size: int, proof: Sequence[bytes], root: bytes
) -> bool:
    """Whether the proof shows that ``leaf`` is number ``index`` of a tree with that root.

    The steps are those of RFC 9162, 2.1.3.2; ``index`` counts from 0.
    """
    if not 0 <= index < size or not _are_hashes((leaf, root, *proof)):
        return False
    node, last = index, size - 1
    result = leaf
    for each in proof:
        if last == 0:
            return False
        if node & 1 or node == last:
            result = node_hash(each, result)
            while not node & 1 and node:
                node >>= 1
                last >>= 1
        else:
            result = node_hash(result, each)
        node >>= 1
        last >>= 1
    return last == 0 and result == root


def verify_consistency(
    first: int, second: int, first_root: bytes, second_root: bytes, proof: Sequence[bytes]
) -> bool:
    """Whether the proof shows that the second tree begins with the first.

    The steps are those of RFC 9162, 2.1.4.2.
    """
    if not 0 < first <= second or not _are_hashes((first_root, second_root, *proof)):
        return False
    if first == second:
        return not proof and first_root == second_root
    path = list(proof)
    if first & (first - 1) == 0:
        path.insert(0, first_root)
    if not path:
        return False
    node, last = first - 1, second - 1
    while node & 1:
        node >>= 1
        last >>= 1
    old = new = path[0]
    for each in path[1:]:
        if last == 0:
            return False
        if node & 1 or node == last:
            old, new = node_hash(each, old), node_hash(each, new)
            while not node & 1 and node:
                node >>= 1
                last >>= 1
        else:
            new = node_hash(new, each)
        node >>= 1
        last >>= 1
    return last == 0 and old == first_root and new == second_root


def _left_size(count: int) -> int:
    """The greatest power of two that is less than ``count``."""
    return 1 << ((count - 1).bit_length() - 1)


def _are_hashes(values: Iterable[bytes]) -> bool:
    return all(len(value) == HASH_BYTES for value in values)
