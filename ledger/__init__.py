"""The provenance ledger and evidence graph for old instruments and amplifiers."""
