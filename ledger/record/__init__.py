"""What is recorded: bench sheets, the append-only store, the case and its exhibits."""
