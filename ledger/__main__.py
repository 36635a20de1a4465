"""Run the command as ``python -m ledger``."""

from ledger.cli import main

if __name__ == "__main__":
    main()
