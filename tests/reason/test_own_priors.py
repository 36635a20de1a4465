"""A part's chance with its own prior at the ends of its range, against weighing on those terms."""

from __future__ import annotations

import pytest

from ledger.reason.derive import derive
from ledger.reason.evidence import Terms
from ledger.reason.likelihoods import FIRST
from ledger.reason.own_priors import over_own_priors
from ledger.reason.priors import fitments, suppositions
from ledger.reason.weighing import scales_of

CASES = (
    "corbel-mandolin",
    "kestwick-arrow",
    "pellworth-combo",
    "quillon-banjo",
    "tessmar-solid",
    "violin-1743",
)


@pytest.fixture(scope="module", params=CASES)
def scales(request, case_and_packs):
    case, packs = case_and_packs(request.param)
    derivation = derive(case, packs)
    fitment = fitments(derivation.draft)
    supposed = suppositions(derivation.draft, fitment)
    found = scales_of(derivation.draft, derivation.readings, supposed, fitment)
    assert found is not None
    return found


def weighed_on_those_terms(scales, terms, held):
    """Every part's chance, weighed from the tables on, with its own prior at either end."""
    found = {}
    for name in scales.evidence.sizes:
        if name.startswith("way:"):
            prior = scales.evidence.values[name.replace("way:", "prior of first-fitted:", 1)]
            found[name] = tuple(
                scales.on(Terms({prior.id: end}, terms.without, terms.taken), held).chances(name)[
                    FIRST
                ]
                for end in (prior.low, prior.high)
            )
    return found


def test_a_range_over_the_own_prior_is_that_of_weighing_on_those_terms(scales):
    found = over_own_priors(scales.on())
    expected = weighed_on_those_terms(scales, Terms(), {})
    assert found.keys() == expected.keys()
    for name, ends in found.items():
        assert ends == pytest.approx(expected[name], abs=1e-9), name


def test_so_it_is_with_a_line_left_out_and_a_part_held_not_to_be_the_first(scales):
    lines = sorted({line for piece in scales.evidence.pieces for line in piece.lines})
    ways = sorted(name for name in scales.evidence.sizes if name.startswith("way:"))
    terms, held = Terms(without=frozenset(lines[:1])), {ways[0]: (1, 2, 3)}
    found = over_own_priors(scales.on(terms, held))
    expected = weighed_on_those_terms(scales, terms, held)
    assert found[ways[0]] == (0, 0)
    for name, ends in found.items():
        assert ends == pytest.approx(expected[name], abs=1e-9), name
