"""The bench: what to look at, forms to write on, and what is filled in read back as a sheet."""
