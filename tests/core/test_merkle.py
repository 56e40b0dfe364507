"""Merkle trees: the published vectors, a general-purpose library as oracle, and every size by Hypothesis."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pymerkle import InmemoryTree

from gradewright.core.merkle import (
    EMPTY_ROOT,
    Growing,
    consistency_proof,
    inclusion_proof,
    is_consistent,
    is_included,
    leaf_hash,
    node_hash,
    root_of,
)

# The reference tree of eight leaves that implementations of RFC 6962 share: inputs, roots and proofs as in
# the tests of the reference implementation of Certificate Transparency (merkle_tree_test.cc), read in
# several public repositories that repeat them.
LEAVES = [
    leaf_hash(bytes.fromhex(data))
    for data in (
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
A = "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7"
B = "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e"
C = "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"
D = "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"
E = "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0"
F = "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a"
INCLUSIONS: list[tuple[int, int, list[str]]] = [
    (0, 1, []),
    (0, 8, [A, B, C]),
    (5, 8, [D, E, ROOTS[4]]),
    (2, 3, [ROOTS[2]]),
    (1, 5, [ROOTS[1], B, D]),
]
CONSISTENCIES: list[tuple[int, int, list[str]]] = [
    (1, 1, []),
    (1, 8, [A, B, C]),
    (6, 8, [F, E, ROOTS[4]]),
    (2, 5, [B, D]),
]
MANY = [leaf_hash(str(number).encode()) for number in range(700)]
sizes = st.integers(0, 700)


def _raw(proof: list[str]) -> list[bytes]:
    return [bytes.fromhex(hashed) for hashed in proof]


@pytest.mark.parametrize("size", range(9))
def test_published_roots(size: int) -> None:
    """The root of the first leaves of the reference tree is the published one, at each size."""
    assert root_of(LEAVES[:size]).hex() == ROOTS[size]


@pytest.mark.parametrize(("number", "size", "proof"), INCLUSIONS)
def test_published_inclusion_proofs(number: int, size: int, proof: list[str]) -> None:
    """The audit path of a leaf of the reference tree is the published one, and holds."""
    assert inclusion_proof(number, LEAVES[:size]) == _raw(proof)
    assert is_included(LEAVES[number], number, size, _raw(proof), bytes.fromhex(ROOTS[size]))


@pytest.mark.parametrize(("first", "size", "proof"), CONSISTENCIES)
def test_published_consistency_proofs(first: int, size: int, proof: list[str]) -> None:
    """The consistency proof between two sizes of the reference tree is the published one, and holds."""
    assert consistency_proof(first, LEAVES[:size]) == _raw(proof)
    roots = bytes.fromhex(ROOTS[first]), bytes.fromhex(ROOTS[size])
    assert is_consistent(first, size, _raw(proof), *roots)


@pytest.fixture(scope="module")
def oracle() -> Any:
    """A tree of a general-purpose library with the same leaves."""
    tree = InmemoryTree(algorithm="sha256")
    for number in range(len(MANY)):
        tree.append_entry(str(number).encode())
    return tree


@given(size=st.integers(1, 700))
def test_roots_are_those_of_a_library(oracle: Any, size: int) -> None:
    """A general-purpose Merkle library finds the same root over the same leaves."""
    assert root_of(MANY[:size]) == oracle.get_root(size)


@given(data=st.data(), size=st.integers(1, 700))
def test_inclusion_proofs_are_those_of_a_library(oracle: Any, data: st.DataObject, size: int) -> None:
    """A general-purpose Merkle library proves a leaf with the same hashes, which it lists after the leaf."""
    number = data.draw(st.integers(0, size - 1))
    path = oracle.prove_inclusion(number + 1, size).path
    assert [MANY[number], *inclusion_proof(number, MANY[:size])] == path


@given(data=st.data(), size=st.integers(1, 700))
def test_every_inclusion_holds_and_no_other(data: st.DataObject, size: int) -> None:
    """A proof holds for its leaf, number, size and root, and for none of them changed."""
    number = data.draw(st.integers(0, size - 1))
    root, proof = root_of(MANY[:size]), inclusion_proof(number, MANY[:size])
    assert is_included(MANY[number], number, size, proof, root)
    assert not is_included(leaf_hash(b"another"), number, size, proof, root)
    assert not is_included(MANY[number], number, size, proof, leaf_hash(b"another"))
    assert not is_included(MANY[number], number, size, [*proof, MANY[0]], root)
    assert not is_included(MANY[number], size, size, proof, root)
    other = data.draw(st.integers(0, size - 1))
    assert is_included(MANY[number], other, size, proof, root) == (other == number)
    if proof:
        assert not is_included(MANY[number], number, size, proof[:-1], root)
        place = data.draw(st.integers(0, len(proof) - 1))
        assert not is_included(MANY[number], number, size, _bent(proof, place), root)


@given(data=st.data(), size=st.integers(1, 700))
def test_every_consistency_holds_and_no_other(data: st.DataObject, size: int) -> None:
    """A proof holds between a tree and a later one, and not when a root or a hash of it is another."""
    first = data.draw(st.integers(1, size))
    before, after = root_of(MANY[:first]), root_of(MANY[:size])
    proof = consistency_proof(first, MANY[:size])
    assert is_consistent(first, size, proof, before, after)
    rewritten = root_of([*MANY[: first - 1], leaf_hash(b"another")])
    assert not is_consistent(first, size, proof, rewritten, after)
    assert not is_consistent(first, size, proof, before, rewritten)
    assert not is_consistent(first, size, [*proof, before], before, after)
    if proof:
        place = data.draw(st.integers(0, len(proof) - 1))
        assert not is_consistent(first, size, _bent(proof, place), before, after)
        assert not is_consistent(first, size, proof[:-1], before, after)


@given(size=sizes)
def test_a_tree_without_leaves_is_the_beginning_of_every_tree(size: int) -> None:
    """From nothing, the proof is empty; nothing follows from another root than that of no leaves."""
    after = root_of(MANY[:size])
    assert is_consistent(0, size, [], EMPTY_ROOT, after)
    assert not is_consistent(0, size, [], MANY[0], after)
    assert not is_consistent(0, size, [MANY[0]], EMPTY_ROOT, after)
    assert not is_consistent(size + 1, size, [], EMPTY_ROOT, after)


@given(size=sizes, height=st.integers(0, 6))
def test_complete_subtrees_stand_for_their_leaves(size: int, height: int) -> None:
    """A tree that is given the roots of complete subtrees has the root of all their leaves."""
    width = 1 << height
    whole = size - size % width
    tree = Growing()
    tree.add((root_of(MANY[start : start + width]) for start in range(0, whole, width)), of=width)
    tree.add(MANY[whole:size])
    assert (tree.size, tree.root()) == (size, root_of(MANY[:size]))


def test_a_subtree_stands_only_at_a_place_of_its_own() -> None:
    """A subtree of four leaves after three leaves is refused."""
    tree = Growing()
    tree.add(MANY[:3])
    with pytest.raises(ValueError, match="4 leaves cannot follow 3"):
        tree.add(MANY[:1], of=4)


def test_a_leaf_is_not_taken_for_a_node() -> None:
    """What is hashed for a node, said by a leaf, has another hash (RFC 6962, section 2.1)."""
    left, right = MANY[:2]
    assert leaf_hash(left + right) != node_hash(left, right)


@pytest.mark.parametrize(("number", "size"), [(0, 0), (3, 3), (-1, 3)])
def test_no_proof_of_what_is_not_there(number: int, size: int) -> None:
    """A leaf outside the tree has no proof."""
    with pytest.raises(ValueError, match="there is no leaf"):
        inclusion_proof(number, MANY[:size])


@pytest.mark.parametrize(("first", "size"), [(0, 3), (4, 3)])
def test_no_consistency_with_what_comes_later(first: int, size: int) -> None:
    """A larger tree is not the beginning of a smaller one; with nothing, there is nothing to prove."""
    with pytest.raises(ValueError, match="not the beginning"):
        consistency_proof(first, MANY[:size])


def _bent(proof: Sequence[bytes], place: int) -> list[bytes]:
    """The proof with one bit of one hash turned."""
    hashed = proof[place]
    return [*proof[:place], bytes([hashed[0] ^ 1]) + hashed[1:], *proof[place + 1 :]]
