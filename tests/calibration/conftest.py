"""The modules of the calibration, which are no package and import nothing of one another."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest


def _loaded(name):
    spec = importlib.util.spec_from_file_location(
        f"calibration_{name}", Path(__file__).parent / f"{name}.py"
    )
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def sim():
    """The simulator."""
    return _loaded("simulator")


@pytest.fixture(scope="session")
def measures():
    """How well stated chances agree with what was so."""
    return _loaded("measures")


@pytest.fixture(scope="session")
def weighed(sim, measures):
    """What is stated of so many specimens of a world, by the pack of the same or another world."""
    trial = _loaded("trial_pack")

    def run(drawn, stated, cases):
        packs = measures.packs_with(trial.pack_of(stated, sim))
        found = [measures.weigh(sim.draw(drawn, seed), packs, seed) for seed in cases]
        return [x for told, _ in found for x in told], [x for _, dates in found for x in dates]

    return run
