"""The client's own checking of trees, proofs and checkpoints, by published vectors and the service's core."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.core import test_checkpoint as published_notes
from tests.core import test_merkle as published

from gradewright.core import checkpoint as core_notes
from gradewright.core.merkle import consistency_proof, inclusion_proof, root_of
from gradewright.ledger.keys import new_signer
from gradewright_sdk.proofs import (
    Checkpoint,
    ProofError,
    Tree,
    check_consistency,
    check_inclusion,
    leaf_hash,
    open_checkpoint,
    read_key,
)

MANY = published.MANY
ROOTS = [bytes.fromhex(root) for root in published.ROOTS]
SIGNER = new_signer("ledger.example.org")
KEY = read_key(SIGNER.key.text)


def _raw(proof: list[str]) -> list[bytes]:
    return [bytes.fromhex(hashed) for hashed in proof]


def test_published_roots() -> None:
    """The reference tree of RFC 6962's implementations has its published root at each size."""
    tree = Tree()
    assert tree.root == ROOTS[0]
    for leaf, root in zip(published.LEAVES, ROOTS[1:], strict=True):
        tree.add(leaf)
        assert tree.root == root


@pytest.mark.parametrize(("number", "size", "proof"), published.INCLUSIONS)
def test_published_inclusion_proofs_hold(number: int, size: int, proof: list[str]) -> None:
    """The published audit paths hold for their leaves and roots."""
    check_inclusion(published.LEAVES[number], number, size, _raw(proof), ROOTS[size])


@pytest.mark.parametrize(("first", "size", "proof"), published.CONSISTENCIES)
def test_published_consistency_proofs_hold(first: int, size: int, proof: list[str]) -> None:
    """The published consistency proofs hold between their roots."""
    check_consistency(first, size, _raw(proof), ROOTS[first], ROOTS[size])


@given(data=st.data(), size=st.integers(1, 700))
def test_every_inclusion_holds_and_no_other(data: st.DataObject, size: int) -> None:
    """What the service's core proves of any leaf holds, and nothing that was changed in it does."""
    number = data.draw(st.integers(0, size - 1))
    proof, root = inclusion_proof(number, MANY[:size]), root_of(MANY[:size])
    check_inclusion(MANY[number], number, size, proof, root)
    wrong = [
        (leaf_hash(b"another"), number, size, proof, root),
        (MANY[number], number, size, [*proof, root], root),
        (MANY[number], number, size, proof, leaf_hash(b"another")),
        (MANY[number], size, size, proof, root),
        (MANY[number], (number + 1) % size, size, proof, root) if size > 1 else (root, 0, 1, proof, MANY[1]),
        *((MANY[number], number, size, published._bent(proof, place), root) for place in range(len(proof))),
    ]
    for each in wrong:
        with pytest.raises(ProofError):
            check_inclusion(*each)


@given(data=st.data(), size=st.integers(0, 700))
def test_every_consistency_holds_and_no_other(data: st.DataObject, size: int) -> None:
    """What the core proves between any two sizes holds, and nothing that was changed in it does."""
    first = data.draw(st.integers(0, size))
    proof = consistency_proof(first, MANY[:size]) if first else []
    before, after, other = root_of(MANY[:first]), root_of(MANY[:size]), leaf_hash(b"another")
    check_consistency(first, size, proof, before, after)
    wrong = [
        (first, size, proof, other, after),
        (first, size, [*proof, other], before, after),
        (size + 1, size, proof, before, after),
        *((first, size, published._bent(proof, place), before, after) for place in range(len(proof))),
    ]
    if first:
        wrong.append((first, size, proof, before, other))
    for each in wrong:
        with pytest.raises(ProofError):
            check_consistency(*each)


def test_published_notes_are_read() -> None:
    """The published key comes out as it went in; the published note has another text than a checkpoint."""
    key = read_key(published_notes.PUBLIC)
    assert str(key) == published_notes.PUBLIC
    note = f"{published_notes.TEXT}\n— PeterNeumann {published_notes.SIGNATURE}\n"
    with pytest.raises(ProofError, match="origin, size and root"):  # after its signature held
        open_checkpoint(note, key)
    with pytest.raises(ProofError, match="does not hold"):
        open_checkpoint(note.replace("problem", "question", 1), key)


def test_a_checkpoint_opens() -> None:
    """What the service has signed is read; changed anywhere, it is refused."""
    note = SIGNER.sign(1234, MANY[0])
    assert open_checkpoint(note, KEY) == Checkpoint("ledger.example.org", 1234, MANY[0])
    assert open_checkpoint(note + published_notes.EXAMPLE.splitlines()[-1] + "\n", KEY).size == 1234
    for old, new in (("1234", "1235"), ("\n\n", "\n"), ("— ledger", "— other"), ("— ", "- ")):
        with pytest.raises(ProofError):
            open_checkpoint(note.replace(old, new, 1), KEY)
    with pytest.raises(ProofError, match="not signed by"):
        open_checkpoint(note, read_key(new_signer("ledger.example.org").key.text))


@pytest.mark.parametrize("size", ["01234", "-1", "12e3", "", "١٢"])
def test_a_size_is_a_plain_number(size: str) -> None:
    """A signed text whose size is written otherwise is no checkpoint."""

    class Odd(core_notes.Checkpoint):
        text = f"ledger.example.org\n{size}\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n"

    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    sign = Ed25519PrivateKey.from_private_bytes(SIGNER.seed).sign
    with pytest.raises(ProofError, match="origin, size and root"):
        open_checkpoint(core_notes.signed(Odd("", 0, b""), SIGNER.key, sign), KEY)


@pytest.mark.parametrize(
    "text", ["", "name", "name+id", published_notes.PUBLIC[:-4], published_notes.PRIVATE]
)
def test_what_is_no_key_is_told(text: str) -> None:
    """A text that is no public key is refused."""
    with pytest.raises(ProofError, match=r"name\+id\+key"):
        read_key(text)
