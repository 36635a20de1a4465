"""What is known of production: catalogues, packs of reference statements, mark readers."""
