"""The evidence graph: what is in it, by which words, and that nothing withheld is."""

from __future__ import annotations

from dataclasses import replace

import pytest

from ledger.exchange.graph import days_as_text, graph_of
from ledger.exchange.terms import EDGE_TERMS, LINES, NODE_TERMS

TYPES = {"string": str, "integer": int, "number": (int, float), "boolean": bool}


def edges(graph, kind):
    return {(tail, head) for tail, head, data in graph.edges(data=True) if data["kind"] == kind}


def test_every_node_has_the_fields_of_its_kind_and_no_others(sample):
    for name, data in sample.graph.nodes(data=True):
        fields = NODE_TERMS[data["kind"]].fields
        given = set(data) - {"kind", "sentence"}
        assert {field for field in fields if not field.endswith("?")} <= given, name
        assert given <= {field.rstrip("?") for field in fields}, name
        for field, of in fields.items():
            if field.rstrip("?") in data:
                assert isinstance(data[field.rstrip("?")], TYPES[of]), (name, field)


def test_every_edge_runs_between_the_kinds_that_its_term_names(sample):
    kinds = dict(sample.graph.nodes(data="kind"))
    for tail, head, key, data in sample.graph.edges(keys=True, data=True):
        term = EDGE_TERMS[key]
        assert (data["kind"], data["bears"]) == (key, term.bears)
        assert kinds[tail] in term.tails, (tail, key, head)
        assert kinds[head] in term.heads, (tail, key, head)


def test_everything_in_the_report_is_in_the_graph_and_nothing_is_missing(sample):
    report, graph = sample.report, sample.graph
    names = [
        *(f"line:{line.id}" for line in report.lines),
        *(f"reference:{row.id}" for row in report.references),
        *(f"supposition:{each.id}" for each in report.suppositions),
        *(f"finding:{finding.id}" for finding in report.findings),
        *(f"position:{position.position}" for position in report.positions),
        *(f"step:{finding.id}" for finding in report.findings),
    ]
    assert set(names) <= set(graph)
    assert {n for n in graph if not n.startswith("step:")} <= set(names)


def test_findings_that_the_report_gives_its_reader_are_marked(sample):
    told = {
        n.removeprefix("finding:") for n, is_told in sample.graph.nodes(data="is_told") if is_told
    }
    assert set(sample.report.conclusion) <= told
    assert {conflict.id for conflict in sample.report.conflicts} <= told
    assert not any(
        finding.kind == "relation" and finding.id in told for finding in sample.report.findings
    )


def texts_of(graph):
    return [str(value) for _, data in graph.nodes(data=True) for value in data.values()]


def test_no_value_of_a_withheld_field_is_in_the_graph(sample):
    texts = texts_of(sample.graph)
    # The invented town of the works is the place of some custody, and in the packs as well.
    hidden = [
        str(getattr(recorded.line, name))
        for recorded in sample.case.lines.values()
        for name in recorded.withheld - {"place"}
        if getattr(recorded.line, name)
    ]
    assert hidden
    assert not [value for value in hidden if any(value in text for text in texts)]


def test_what_a_line_withholds_is_in_no_sentence_of_the_graph(weigh_lines):
    found = weigh_lines(
        custody=[{"id": "held", "holder": "Xylander", "place": "Ottonia", "begins": "1960"}],
        marks=[
            {
                "id": "number",
                "position": "pot.1",
                "text": "912-5614",
                "withhold": ["text"],
            }
        ],
    )
    texts = texts_of(found.graph)
    assert not [t for t in texts for value in ("Xylander", "Ottonia", "912-5614") if value in t]


def test_a_withheld_examiner_reads_as_withheld(weigh_lines):
    source = {"id": "talk", "kind": "testimony", "title": "A talk", "by": "Somebody Named"}
    found = weigh_lines(sources=[{**source, "withhold": ["by"]}])
    assert found.graph.nodes["line:talk"]["by"] == "withheld"


def test_copies_works_challenges_and_answers_are_tied_by_the_case(weigh_lines):
    found = weigh_lines(
        sources=[
            {"id": "first", "kind": "publication", "title": "The first paper"},
            {
                "id": "second",
                "kind": "publication",
                "title": "A later paper",
                "copied_from": "first",
            },
        ],
        marks=[{"id": "code", "position": "pot.1", "text": "912-5614"}],
        traces=[{"id": "holes", "trace": "filled-holes", "positions": ["bridge"]}],
        works=[
            {
                "id": "new-bridge",
                "action": "replaced",
                "positions": ["bridge"],
                "explains": ["holes"],
            }
        ],
        challenges=[
            {
                "id": "no",
                "says": "The pot was changed.",
                "lines": ["code"],
                "suppositions": ["first-fitted:pot.1"],
                "findings": ["made.code"],
                "positions": ["pot.1"],
                "mark": "code",
                "mark_reads": "912-6614",
            }
        ],
        answers=[
            {
                "id": "yes",
                "challenge": "no",
                "date": "2026-02-01",
                "says": "It was not.",
                "lines": ["code"],
                "findings": ["made.code"],
            }
        ],
    )
    graph = found.graph
    assert edges(graph, "copied from") == {("line:second", "line:first")}
    assert ("line:holes", "line:new-bridge") in edges(graph, "explained by")
    assert edges(graph, "doubts") == {
        ("line:no", "line:code"),
        ("line:no", "supposition:first-fitted:pot.1"),
        ("line:no", "finding:made.code"),
        ("line:no", "position:pot.1"),
    }
    assert edges(graph, "answers") == {("line:yes", "line:no")}
    assert edges(graph, "rests its answer on") == {
        ("line:yes", "line:code"),
        ("line:yes", "finding:made.code"),
    }
    assert graph.nodes["line:no"]["kind"] == "challenge"
    assert graph.nodes["line:yes"]["kind"] == "answer"


def test_a_name_that_the_report_does_not_have_is_told_as_missing(samples):
    sample = samples["whinchat-mandolin"]
    findings = tuple(
        replace(f, premises=("line:gone", "reference:pack/gone", "gone")) if i == 0 else f
        for i, f in enumerate(sample.report.findings)
    )
    graph = graph_of(replace(sample.report, findings=findings), sample.case)
    missing = {name for name, kind in graph.nodes(data="kind") if kind == "missing"}
    assert missing == {"line:gone", "reference:pack/gone", "finding:gone"}


def test_a_line_named_by_its_full_id_is_the_line(samples):
    sample = samples["whinchat-mandolin"]
    line = next(line.id for line in sample.report.lines)
    premise = f"line:{sample.report.instrument}/{line}"
    findings = tuple(
        replace(f, premises=(premise,)) if i == 0 else f
        for i, f in enumerate(sample.report.findings)
    )
    graph = graph_of(replace(sample.report, findings=findings), sample.case)
    assert (f"step:{findings[0].id}", f"line:{line}") in edges(graph, "takes")


def test_accounts_settle_the_conflicts_that_they_give_something_of_up_in(sample):
    settled = edges(sample.graph, "settles")
    for account in sample.report.accounts:
        for conflict in sample.report.conflicts:
            pair = (f"finding:{account.id}", f"finding:{conflict.id}")
            assert (pair in settled) == bool(set(account.gives_up) & set(conflict.suppositions))


@pytest.mark.parametrize(
    ("days", "text"),
    [
        ([("1949-04-17", "1949-04-23")], "1949-04-17/1949-04-23"),
        ([(None, "1951"), ("1954", None)], "../1951; 1954/.."),
        ([(None, None)], "../.."),
        ([], ""),
    ],
    ids=["span", "open-ends", "ever", "none"],
)
def test_days_are_intervals_of_the_date_format(days, text):
    assert days_as_text(days) == text


def test_every_kind_of_line_is_a_kind_of_node():
    assert set(LINES) <= set(NODE_TERMS)
    assert all(term.says for term in (*NODE_TERMS.values(), *EDGE_TERMS.values()))
