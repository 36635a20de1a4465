"""Two sources that say different things of one thing are a conflict, and little else is.

That two such observations cannot both be right is logic; that a value which only says more closely
is no other value, and that what one sitting records twice is meant together, is common practice, no
source.
"""

from __future__ import annotations

import pytest

SECOND = {"id": "second", "kind": "examination", "title": "Second look", "date": "2026-02-01"}


def conflicts(found):
    return {
        frozenset(each.suppositions)
        for each in found.report.conflicts
        if all(name.startswith("sound:") for name in each.suppositions)
    }


def pair(section, one, other):
    """Two lines of two examiners, as the section of a sheet."""
    return {section: [{"id": "one", **one}, {"id": "other", "source": "second", **other}]}


BOTH = {frozenset(("sound:one", "sound:other"))}


def at(position, **rest):
    return {"position": position, **rest}


def coil(value, circuit):
    given = {"value": value, "circuit": circuit, "temperature": "20 C"}
    doubt = {"uncertainty": "0.02 k"} if value.endswith("k") else {}
    return at("pickup.1", quantity="resistance of the coil", **given, **doubt)


@pytest.mark.parametrize(
    "sections",
    [
        pair(
            "features",
            at("body", feature="colour", value="black"),
            at("body", feature="Colour", value="white"),
        ),
        pair(
            "features",
            at("guard", feature="presence", value="missing"),
            at("guard", feature="presence", value="present, loose"),
        ),
        pair(
            "measurements",
            at("nut", quantity="width", value="43.0 mm", uncertainty="0.1 mm"),
            at("nut", quantity="width", value="50.0 mm", uncertainty="0.1 mm"),
        ),
        pair(
            "measurements",
            at("nut", quantity="width", value="43.0 mm"),
            at("nut", quantity="width", value="50.0 mm"),
        ),
        pair("measurements", coil("7.50 k", "isolated"), coil("6.00 k", "isolated")),
        pair("marks", at("serial", text="1234"), at("serial", text="9876")),
        pair(
            "identity",
            {"what": "maker", "value": "Calder"},
            {"what": "maker", "value": "Norrow"},
        ),
    ],
    ids=[
        "feature",
        "presence",
        "measure",
        "measure without a doubt",
        "coil taken by itself",
        "serial",
        "maker",
    ],
)
def test_two_examiners_who_differ_are_a_conflict_of_their_two_lines(weigh_sheet, sections):
    found = weigh_sheet(sources=[SECOND], **sections)
    assert conflicts(found) == BOTH
    assert "Nothing else recorded contradicts" not in " ".join(found.conclusion())
    (rule,) = {f.rule for f in found.report.findings if f.id == "differ.one.other"}
    assert rule == "observations differ"


@pytest.mark.parametrize(
    "sections",
    [
        pair(
            "features",
            at("body", feature="colour", value="black"),
            at("body", feature="colour", value="black, faded"),
        ),
        pair(
            "features",
            at("body", feature="colour", value="black"),
            at("neck", feature="colour", value="white"),
        ),
        pair(
            "features",
            at("body", feature="colour", value="black"),
            at("body", feature="edge", value="white"),
        ),
        pair(
            "measurements",
            at("nut", quantity="width", value="43.0 mm", uncertainty="0.1 mm"),
            at("nut", quantity="width", value="43.2 mm", uncertainty="0.1 mm"),
        ),
        pair(
            "measurements",
            at("nut", quantity="width", value="43.0 mm"),
            at("nut", quantity="width", value="43.5 mm"),
        ),
        pair("measurements", coil("7.50 k", "isolated"), coil("6.00 k", "in circuit")),
        pair("measurements", coil("7.50 k", "isolated"), coil("43 mm", "isolated")),
        pair("marks", at("serial", text="1234"), at("serial", text="12?4")),
        pair("marks", at("serial", text="1234"), at("serial", text="77")),
        pair("marks", at("body", text="12"), at("body", text="98")),
        pair(
            "identity",
            {"what": "model", "value": "Heron"},
            {"what": "model", "value": "Heron Special"},
        ),
        pair("identity", {"what": "name", "value": "X"}, {"what": "name", "value": "Y"}),
    ],
    ids=[
        "said more closely",
        "two places",
        "two features",
        "within both doubts",
        "within what an untold doubt allows",
        "a coil read in circuit",
        "figures of two kinds",
        "a figure in doubt",
        "numbers of two kinds",
        "a place with room for two numbers",
        "a model said more closely",
        "two names",
    ],
)
def test_what_can_both_be_is_no_conflict(weigh_sheet, sections):
    assert conflicts(weigh_sheet(sources=[SECOND], **sections)) == set()


def test_what_one_sitting_records_twice_is_meant_together(weigh_sheet):
    lines = [
        {"id": "one", "position": "body", "feature": "repair", "value": "cleats"},
        {"id": "other", "position": "body", "feature": "repair", "value": "patch"},
    ]
    assert conflicts(weigh_sheet(features=lines)) == set()


COLOURS = pair(
    "features",
    at("body", feature="colour", value="black"),
    at("body", feature="colour", value="white"),
)
OLD = {"id": "old", "kind": "examination", "title": "First look", "date": "1990-05-01"}


def seen_twice(weigh_sheet, **work):
    first, second = COLOURS["features"]
    bill = {"id": "bill", "kind": "document", "title": "Bill"}
    done = {"id": "done", "source": "bill", "action": "altered", "positions": ["body"], **work}
    features = [first | {"source": "old"}, second]
    return weigh_sheet(sources=[OLD, SECOND, bill], features=features, works=[done])


@pytest.mark.parametrize(
    "work",
    [
        {"date": "2001"},
        {},
        {"positions": ["body-finish"], "date": "2001"},
        {"positions": ["bridge"], "date": "1970", "explains": ["other"]},
    ],
    ids=["between the two", "undated", "on the finish of it", "named by the work"],
)
def test_a_recorded_work_between_the_two_accounts_for_the_difference(weigh_sheet, work):
    found = seen_twice(weigh_sheet, **work)
    assert conflicts(found) == set()
    (said,) = (f.sentence for f in found.report.findings if f.id == "differ.one.other")
    assert "may account for the difference" in said


@pytest.mark.parametrize(
    "work",
    [{"date": "1970"}, {"positions": ["tuners"], "date": "2001"}],
    ids=["before both", "elsewhere"],
)
def test_any_other_work_accounts_for_nothing(weigh_sheet, work):
    assert conflicts(seen_twice(weigh_sheet, **work)) == BOTH


def test_a_copy_of_the_same_paper_does_not_contradict_it(weigh_sheet):
    copy = {"id": "copy", "kind": "document", "title": "Copy", "copied_from": "second"}
    lines = [
        {"id": "one", "source": "second", "what": "maker", "value": "Calder"},
        {"id": "other", "source": "copy", "what": "maker", "value": "Norrow"},
    ]
    assert conflicts(weigh_sheet(sources=[SECOND, copy], identity=lines)) == set()


def test_a_part_that_one_misses_and_another_sees_cannot_be_told(weigh_sheet):
    sections = pair(
        "features",
        at("guard", feature="presence", value="missing"),
        at("guard", feature="presence", value="present"),
    )
    found = weigh_sheet(sources=[SECOND], **sections)
    assert found.states("guard") == {"cannot be told"}
    assert "another contradicts it" in " ".join(found.position("guard").reasons)


def test_a_part_that_is_missing_without_contradiction_is_missing(weigh_sheet):
    gone = {"id": "gone", "position": "guard", "feature": "presence", "value": "missing"}
    assert weigh_sheet(features=[gone]).states("guard") == {"missing"}


@pytest.mark.parametrize("count", [6, 10])
@pytest.mark.parametrize("is_dated", [False, True], ids=["undated", "dated"])
def test_of_many_even_contradictions_none_is_decided_by_the_order_of_names(
    weigh_sheet, is_dated, count
):
    every = ("body", "neck", "bridge", "nut", "frets", "tuners", "knobs", "guard", "jack", "logo")
    places = every[:count]
    lines = [
        {"id": f"{name}-{place}", "position": place, "feature": "colour", "value": name, **source}
        for place in places
        for name, source in (("black", {}), ("white", {"source": "second"}))
    ]
    marks = [{"id": "code", "position": "pot.1", "text": "912-5512"}] if is_dated else []
    found = weigh_sheet(sources=[SECOND], features=lines, marks=marks)
    assert len(conflicts(found)) == len(places)
    for line in lines:
        assert not all(f"sound:{line['id']}" in account.gives_up for account in found.leading)
    assert not found.report.surprises
