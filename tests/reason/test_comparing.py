"""Job numbers: which marks are such numbers, and when two parts disagree.

That a works wrote one number on parts that belong together, and that a part bears other numbers
besides, is common practice, no source.
"""

from __future__ import annotations

import pytest

PAIR = {"matching_numbers": [{"id": "pair", "positions": ["body", "neck"], "what": "a job number"}]}


def clashing(found):
    return [
        f for f in found.report.conflicts if any("numbers." in s for c in f.chains for s in c.steps)
    ]


def marks(*given):
    return [
        {"id": f"m{i}", "position": position, "text": text, **dict(rest)}
        for i, (position, text, *rest) in enumerate(given, 1)
    ]


def test_the_job_number_of_the_sample_steel_is_not_compared_with_its_registered_design(
    weigh_sample,
):
    report = weigh_sample("dunnock-lap-steel")
    assert not any("348050" in conflict.sentence for conflict in report.conflicts)
    (match,) = (f for f in report.findings if f.rule == "matching numbers")
    assert "agree as far as they can be read" in match.sentence


@pytest.mark.parametrize(
    "given",
    [
        (("body", "62"), ("neck", "62"), ("neck", "771")),
        (("body", "62"), ("body", "5"), ("body", "88"), ("neck", "6?")),
    ],
    ids=["another number besides", "one figure in doubt"],
)
def test_where_any_number_agrees_there_is_no_contradiction(weigh_sheet, given):
    assert not clashing(weigh_sheet(pack=PAIR, marks=marks(*given)))


def test_what_is_a_patent_or_a_date_code_is_no_job_number(weigh_sheet):
    given = (("body", "62"), ("neck", "PAT 2,741,146"), ("neck", "912-6629"))
    assert not clashing(weigh_sheet(pack=PAIR, marks=marks(*given)))


def test_numbers_that_all_differ_are_one_conflict_that_any_misreading_lifts(weigh_sheet):
    given = (("body", "62"), ("neck", "71"), ("neck", "88"))
    (conflict,) = clashing(weigh_sheet(pack=PAIR, marks=marks(*given)))
    assert {"sound:m1", "sound:m2", "sound:m3"} <= set(conflict.suppositions)


@pytest.mark.parametrize(("other", "differs"), [("3012", False), ("3013", True)])
def test_a_serial_number_written_on_the_other_part_is_compared(weigh_sheet, other, differs):
    table = {
        "id": "numbers",
        "pattern": r"N (\d{4})",
        "positions": ["body"],
        "bears_on": "completed",
        "ranges": [{"first": 3000, "last": 3999, "date": "1955"}],
    }
    pack = PAIR | {"serial_tables": [table]}
    found = weigh_sheet(pack=pack, marks=marks(("body", "N 3012"), ("neck", other)))
    assert bool(clashing(found)) == differs
