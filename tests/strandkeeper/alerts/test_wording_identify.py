"""Every reason and every outcome of the proof has its sentence."""

from __future__ import annotations

import pytest

from strandkeeper.alerts.wording_identify import (
    evidence_sentence,
    proof_sentence,
    proof_steps,
    quantity_word,
)
from strandkeeper.model.enterprise_table import parse_unit
from strandkeeper.model.identification import (
    Evidence,
    EvidenceKind,
    Place,
    Proof,
    ProofKind,
    unit_text,
)
from strandkeeper.model.reading import Quantity

COLUMN = (1, 3, 6, 1, 4, 1, 32473, 1, 9)


@pytest.mark.parametrize("kind", list(EvidenceKind))
def test_every_reason_can_be_said_for_and_against(kind: EvidenceKind) -> None:
    in_favour = evidence_sentence(Evidence(kind, 1.0, (2.0, 5.0)))
    against = evidence_sentence(Evidence(kind, -1.0, (2.0, 5.0)))
    assert in_favour != against
    assert against.startswith("but ")


def test_every_quantity_has_a_word() -> None:
    assert len({quantity_word(q) for q in Quantity}) == len(Quantity)


@pytest.mark.parametrize("kind", list(ProofKind))
def test_every_outcome_of_the_proof_has_a_sentence(kind: ProofKind) -> None:
    said = proof_sentence(Proof(kind=kind, cells=((*COLUMN, 5),), columns=(Place(COLUMN),)))
    assert said.endswith(".")


def test_one_dark_column_is_named() -> None:
    one = Proof(kind=ProofKind.ONE, cells=((*COLUMN, 5),), columns=(Place(COLUMN),))
    assert proof_sentence(one) == ("column 1.3.6.1.4.1.32473.1.9 went dark: it is receive power.")


def test_the_steps_warn_of_the_light_and_of_cutting_the_way_off() -> None:
    near = " ".join(proof_steps("Gi1", through_this_port=False))
    assert "cap plug and port" in near
    assert "Never look into a fibre" in near
    assert "cannot be asked" not in near
    assert "cannot be asked" in " ".join(proof_steps("Gi1", through_this_port=True))


def test_steps_that_are_fractions_are_written_as_fractions() -> None:
    assert unit_text(parse_unit("1/256 C")) == "1/256 C"
    assert unit_text(parse_unit("0.001 C")) == "0.001 C"
