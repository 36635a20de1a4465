"""Trees and proofs, held to published ones and to the definition itself.

RFC 9162 and RFC 6962 print no vectors. The roots and proofs are those of transparency-dev/merkle,
testonly/constants.go and testdata/ (Apache License 2.0, commit 417fb0c); the good and bad proofs
are copied in vectors/merkle-proofs.json.
"""

from __future__ import annotations

import json
from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.merkle import (
    EMPTY_ROOT,
    MerkleTree,
    leaf_hash,
    node_hash,
    verify_consistency,
    verify_inclusion,
)

LEAVES = [
    bytes.fromhex(text)
    for text in (
        "",
        "00",
        "10",
        "2021",
        "3031",
        "40414243",
        "5051525354555657",
        "606162636465666768696a6b6c6d6e6f",
    )
]
ROOTS = [
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]
PAIR = "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e"
FIFTH = "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"
LAST_PAIR = "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0"
LAST_FOUR = "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"
SECOND = "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7"
FIFTH_AND_SIXTH = "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a"
SEVENTH = "b08693ec2e721597130641e8211e7eedccb4c26413963eee6c1e2ed16ffb1a5f"
VECTORS = json.loads(
    (Path(__file__).parent / "vectors" / "merkle-proofs.json").read_text(encoding="utf-8")
)


@pytest.fixture(scope="module")
def tree():
    return MerkleTree(map(leaf_hash, LEAVES))


def _defined(leaves):
    """The root by the words of RFC 9162, 2.1.1."""
    if not leaves:
        return sha256(b"").digest()
    if len(leaves) == 1:
        return leaves[0]
    size = 1
    while size * 2 < len(leaves):
        size *= 2
    return node_hash(_defined(leaves[:size]), _defined(leaves[size:]))


def test_the_published_hashes_of_a_leaf_and_a_node():
    # sigstore and trillian print these two beside their code.
    assert leaf_hash(b"L123456").hex() == (
        "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"
    )
    assert node_hash(b"N123", b"N456").hex() == (
        "aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb"
    )


@pytest.mark.parametrize("size", range(9), ids=str)
def test_the_published_roots(tree, size):
    assert tree.root(size).hex() == ROOTS[size]
    assert MerkleTree(map(leaf_hash, LEAVES[:size])).root().hex() == ROOTS[size]


@pytest.mark.parametrize(
    ("index", "size", "proof"),
    [
        (0, 8, [SECOND, PAIR, LAST_FOUR]),
        (5, 8, [FIFTH, LAST_PAIR, ROOTS[4]]),
        (2, 3, [ROOTS[2]]),
        (1, 5, [ROOTS[1], PAIR, FIFTH]),
    ],
    ids=lambda value: "" if isinstance(value, list) else str(value),
)
def test_the_published_inclusion_proofs(tree, index, size, proof):
    made = tree.inclusion_proof(index, size)
    assert [each.hex() for each in made] == proof
    assert verify_inclusion(leaf_hash(LEAVES[index]), index, size, made, tree.root(size))


@pytest.mark.parametrize(
    ("first", "second", "proof"),
    [
        (1, 1, []),
        (1, 8, [SECOND, PAIR, LAST_FOUR]),
        (6, 8, [FIFTH_AND_SIXTH, LAST_PAIR, ROOTS[4]]),
        (2, 5, [PAIR, FIFTH]),
        (6, 7, [FIFTH_AND_SIXTH, SEVENTH, ROOTS[4]]),
    ],
    ids=lambda value: "" if isinstance(value, list) else str(value),
)
def test_the_published_consistency_proofs(tree, first, second, proof):
    made = tree.consistency_proof(first, second)
    assert [each.hex() for each in made] == proof
    assert verify_consistency(first, second, tree.root(first), tree.root(second), made)


@pytest.mark.parametrize("vector", VECTORS["inclusion"], ids=lambda vector: vector[0])
def test_published_inclusion_proofs_good_and_bad(vector):
    _, index, size, root, leaf, proof, is_good = vector
    taken = [bytes.fromhex(each) for each in proof]
    assert verify_inclusion(bytes.fromhex(leaf), index, size, taken, bytes.fromhex(root)) == is_good


@pytest.mark.parametrize("vector", VECTORS["consistency"], ids=lambda vector: vector[0])
def test_published_consistency_proofs_good_and_bad(vector):
    _, first, second, first_root, second_root, proof, is_good = vector
    taken = [bytes.fromhex(each) for each in proof]
    roots = bytes.fromhex(first_root), bytes.fromhex(second_root)
    # That library also lets the empty tree be the beginning of any, where RFC 9162 asks for
    # 0 < m, and in one vector lets something be a root that no SHA-256 is.
    is_ours = first > 0 and all(len(root) == 32 for root in roots)
    assert verify_consistency(first, second, *roots, taken) == (is_good and is_ours)


@given(st.integers(0, 70))
def test_every_root_is_that_of_the_definition(size):
    leaves = [leaf_hash(bytes([at])) for at in range(size)]
    assert MerkleTree(leaves).root() == _defined(leaves)


@given(st.lists(st.integers(0, 9), max_size=12), st.data())
def test_a_tree_that_grew_by_pieces_is_the_tree_of_all(counts, data):
    tree, leaves = MerkleTree(), []
    for count in counts:
        more = [leaf_hash(bytes([len(leaves), at])) for at in range(count)]
        leaves += more
        tree.extend(more)
        if data.draw(st.booleans()):
            leaves.append(leaf_hash(b"one"))
            tree.append(leaves[-1])
    assert (tree.size, tree.root()) == (len(leaves), _defined(leaves))
    assert [tree.leaf(at) for at in range(tree.size)] == leaves


@given(st.integers(1, 40).flatmap(lambda n: st.tuples(st.just(n), st.integers(0, n - 1))))
def test_every_inclusion_proof_holds_and_for_nothing_else(sized):
    size, index = sized
    tree = MerkleTree(leaf_hash(bytes([at])) for at in range(size + 3))
    leaf, root, proof = tree.leaf(index), tree.root(size), tree.inclusion_proof(index, size)
    assert verify_inclusion(leaf, index, size, proof, root)
    others = [at for at in range(size + 3) if at != index]
    assert not any(verify_inclusion(tree.leaf(at), index, size, proof, root) for at in others)
    assert not any(verify_inclusion(leaf, at, size, proof, root) for at in (*others, -1))
    assert not verify_inclusion(leaf, index, size, (*proof, root), root)
    if proof:
        assert not verify_inclusion(leaf, index, size, proof[:-1], root)


@given(st.integers(1, 40).flatmap(lambda n: st.tuples(st.just(n), st.integers(1, n))))
def test_every_consistency_proof_holds_and_for_nothing_else(sized):
    second, first = sized
    tree = MerkleTree(leaf_hash(bytes([at])) for at in range(second))
    proof = tree.consistency_proof(first, second)
    old, new = tree.root(first), tree.root(second)
    assert verify_consistency(first, second, old, new, proof)
    other = leaf_hash(b"other")
    assert not verify_consistency(first, second, other, new, proof)
    assert not verify_consistency(first, second, old, other, proof)
    assert not verify_consistency(first, second, old, new, (*proof, other))
    assert not verify_consistency(0, second, EMPTY_ROOT, new, proof)
    assert not verify_consistency(second + 1, second, old, new, proof)
    for at in range(len(proof)):
        assert not verify_consistency(first, second, old, new, (*proof[:at], *proof[at + 1 :]))


def test_a_complete_subtree_is_adopted_where_it_can_stand():
    leaves = [leaf_hash(bytes([at])) for at in range(11)]
    tree = MerkleTree()
    for begin in (0, 4):
        tree.adopt(MerkleTree(leaves[begin : begin + 4]).levels())
    tree.extend(leaves[8:])
    assert tree.root() == _defined(leaves)
    with pytest.raises(ValueError, match="complete"):
        tree.adopt(MerkleTree(leaves[:4]).levels())
    with pytest.raises(ValueError, match="complete"):
        MerkleTree().adopt(MerkleTree(leaves[:3]).levels())


@pytest.mark.parametrize(
    "ask",
    [
        lambda tree: tree.root(9),
        lambda tree: tree.root(-1),
        lambda tree: tree.leaf(8),
        lambda tree: tree.inclusion_proof(8),
        lambda tree: tree.inclusion_proof(3, 3),
        lambda tree: tree.inclusion_proof(0, 9),
        lambda tree: tree.consistency_proof(0, 3),
        lambda tree: tree.consistency_proof(4, 3),
    ],
    ids=["root", "negative", "leaf", "index", "at-the-end", "size", "from-none", "backwards"],
)
def test_what_a_tree_never_had_cannot_be_asked_of_it(tree, ask):
    with pytest.raises(ValueError, match=r"leaf|leaves"):
        ask(tree)


def test_hashes_of_another_length_prove_nothing(tree):
    leaf, proof = tree.leaf(0), tree.inclusion_proof(0)
    assert not verify_inclusion(leaf[:-1], 0, 8, proof, tree.root())
    assert not verify_inclusion(leaf, 0, 8, (b"", *proof[1:]), tree.root())
    assert not verify_consistency(8, 8, b"", b"", ())
    assert not verify_consistency(3, 8, tree.root(3), tree.root(8), ())
