"""From a case and packs to a report, by pure functions."""
