"""Writes the kept answers to the questions anew; read the difference before it is committed.

python tests/exchange/remake_answers.py
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from ledger import workflow
from ledger.commands.telling import telling_of
from ledger.exchange.asking import answer, read_graph_questions, store_of
from ledger.exchange.iris import DEFAULT_BASE
from ledger.exchange.rdf import exported
from ledger.exchange.statements import Checkpoint
from ledger.holdings import query_files, sample_data

ANSWERS = Path(__file__).parent / "answers"


def main() -> None:
    """Answer every question on the samples, as test_asking.py asks it."""
    source = Path(__file__).with_name("test_asking.py").read_text(encoding="utf-8")
    begin, end = source.index("# What is asked of the samples"), source.index("TWINS = ")
    asked: dict = {}
    exec(compile(source[begin:end], "test_asking", "exec"), asked)  # noqa: S102 - our own test's two tables
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "ledger.db"
        files = sorted(sample_data().glob("*.yaml"))
        workflow.record_files(path, files, "examiner", "2026-03-02T10:00:00Z")
        telling = telling_of(path, (), DEFAULT_BASE)
    telling = type(telling)(
        telling.cases, telling.packs, Checkpoint(187, "ab" * 32), telling.base, telling.rules
    )
    store = store_of(exported(telling))
    ANSWERS.mkdir(exist_ok=True)
    for question in read_graph_questions(query_files()):
        found = answer(store, question, asked["ASKED"].get(question.name, {}))
        places = [n for n, name in enumerate(found.columns) if name not in asked["NOT_KEPT"]]
        kept = [found.columns, *found.rows]
        lines = dict.fromkeys("\t".join(row[n] for n in places) for row in kept)
        text = "\n".join(lines) + "\n"
        (ANSWERS / f"{question.name}.tsv").write_text(text, encoding="utf-8", newline="\n")
        sys.stdout.write(f"{question.name}: {len(lines) - 1} rows kept\n")


if __name__ == "__main__":
    main()
