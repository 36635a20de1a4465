"""Days, spans, hashes, dates and quantities: what every other floor stands on."""
