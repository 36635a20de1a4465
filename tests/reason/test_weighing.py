"""Whole small cases: the weighing against a slow enumeration that shares no code with it.

The enumeration goes through every way of every part and every state of every supposition, week by
week, and multiplies out what the model says of each, with plain loops over days and weeks. What it
takes from the model's own page: four ways, log-normal lags with old stock, one slip of a glyph or a
code that is wrong altogether, dates told with a two-sided exponential drift, one doubt for each
teller and each source of rows.
"""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import date
from functools import cache
from itertools import product
from math import erf, exp, inf, log, prod, sqrt
from pathlib import Path

import numpy as np
import pytest

from ledger.knowledge.packs import Packs, built_in_packs
from ledger.models import SECTIONS, BenchSheet
from ledger.reason.derive import derive
from ledger.reason.evidence import Terms
from ledger.reason.priors import fitments, suppositions
from ledger.reason.weighing import scales_of
from ledger.record.case import Case, Recorded
from ledger.references import PackFile

CLOSE = 1e-9
UNSOURCED = {"source": "common practice, no source (invented case)", "confidence": "medium"}
REGISTER = {"source": "register of kinds", "confidence": "medium"}
SEEN = date(1966, 3, 7).toordinal()

# -- the case and its pack -----------------------------------------------------------------------

# Shares at 5 and 25 years of age.
SHARES = {
    "pot": (0.9, 0.6),
    "switch": (0.8, 0.5),
    "pickup": (0.85, 0.7),
    "coil": (0.95, 0.8),
    "tuners": (0.75, 0.6),
    "plate": (0.9, 0.8),
}
JOINED = (0.8, 0.8)


def priors(ends):
    return [
        {"years": age, "low": share - 0.1, "middle": share, "high": min(share + 0.1, 0.99)}
        for age, share in zip((5, 25), ends, strict=True)
    ]


def position(name, parent, **more):
    found = {"id": name, "name": name, "link": "mounted", "parent": parent, "examine": "look"}
    return {**found, "priors": priors(SHARES[name]), **more}


def root(name):
    return {
        "id": name,
        "name": name,
        "link": "root",
        "examine": "look",
        "priors": priors((0.9, 0.9)),
    }


def trace_kind(name, service, matching, *, joins="no"):
    ratios = {"against_service": [service, service], "against_matching": [matching, matching]}
    return {"id": name, "name": name, "joins": joins, **ratios, **UNSOURCED}


def kind_of_feature(place, feature, value, begins, ends):
    row = {"id": f"{feature}-{value}", "position": place, "feature": feature, "value": value}
    span = {"begins": begins, "ends": ends, "overlap_days": 140}
    return {**row, **span, "scope": {"maker": "M"}, **REGISTER}


# The values that the chances below are worked out from, whatever those of practice are.
PRACTICE = {
    "agrees-by-chance": 0.3,
    "comparison-error": 0.03,
    "holds-medium": 0.9,
    "unaltered-root": 0.75,
    "sound-first-hand-observation": 0.97,
    "sound-work": 0.95,
    "sound-paper-naming-object": 0.95,
    "sound-testimony": 0.75,
    "sound-sighting": 0.95,
    "sound-clear-mark": 0.97,
    "sound-worn-mark": 0.85,
    "sound-partial-mark": 0.7,
    "misreading-clear": 0.005,
    "misreading-worn": 0.05,
    "misreading-partial": 0.12,
    "lag-component-median-weeks": 10,
    "lag-transformer-median-weeks": 8,
    "lag-component-sigma": 0.9,
    "lag-component-tail-share": 0.05,
    "lag-completed-to-dispatched-weeks": 6,
    "lag-dispatched-to-sold-weeks": 26,
    "mix-service": 0.7,
    "mix-matching": 0.2,
    "mix-transplant": 0.1,
    "spread-matching-years": 1,
    "spread-transplant-years": 1.5,
    "testimony-drift-years": 2,
    "label-allowance": 365,
}

PACK = {
    "pack": "small",
    "title": "Small",
    "version": "1",
    "invented": "yes",
    "catalogues": [
        {
            "kind": "small-electric",
            "name": "small electric",
            "source": "invented",
            "anchor": "body",
            "positions": [
                root("body"),
                root("neck"),
                position("pot", "body", many="yes"),
                position("switch", "body"),
                position("pickup", "body"),
                position("coil", "pickup", link="integral"),
                position("tuners", "neck", lag="lag-transformer-median-weeks"),
                position("plate", "body", marks_date="completed"),
            ],
            "unions": [{"between": ["body", "neck"], "how": "screws", "priors": priors(JOINED)}],
        }
    ],
    "date_codes": [
        {
            "id": "year-and-week",
            "pattern": "W(?P<year>\\d\\d)-(?P<week>\\d\\d)",
            "reading": "year and week",
            "first_year": 1950,
            "last_year": 1999,
            "used": "by scheme",
            **UNSOURCED,
        }
    ],
    "timelines": [
        kind_of_feature("body", "routing", "deep", "1961", "1963"),
        kind_of_feature("tuners", "button", "oval", "1960", "1962"),
    ],
    "specifications": [
        {
            "id": "plate-material",
            "position": "plate",
            "feature": "material",
            "values": ["steel"],
            "scope": {"maker": "M"},
            **REGISTER,
        }
    ],
    "practices": [
        {"id": name, "value": value, "low": value, "high": value, "unit": "ours", **UNSOURCED}
        for name, value in PRACTICE.items()
    ],
    "trace_kinds": [
        trace_kind("one-flow", 30, 6, joins="yes"),
        trace_kind("of-one-occasion", 1, 1, joins="yes"),
        trace_kind("seat-fits", 12, 2),
        trace_kind("seat-worn", 5, 1.5),
        trace_kind("seat-cut", 0.2, 0.4),
        trace_kind("eight", 8, 8),
        trace_kind("ratio-3.35", 3.35, 3.35),
    ],
}


def mark(place, text, legibility="clear"):
    line = {"id": f"mark-{place.replace('.', '-')}", "position": place, "text": text}
    return {**line, "scheme": "year-and-week", "legibility": legibility}


def scales_for(pack=PACK, **sections):
    head = {"id": "small", "kind": "small-electric", "name": "S", "maker": "M", "invented": "yes"}
    bench = {"id": "bench", "kind": "examination", "title": "Sitting", "date": "1966-03-07"}
    sources = [bench, *sections.pop("sources", [])]
    typed = {name: [{"source": "bench", **x} for x in lines] for name, lines in sections.items()}
    sheet = BenchSheet.model_validate(
        {"bench_sheet": "1", "instrument": head, "sources": sources, **typed}
    )
    lines = {}
    for section in SECTIONS:
        for line in getattr(sheet, section):
            lines[line.id] = Recorded(line, section, len(lines) + 2, "0" * 64)
    packs = Packs.of((*built_in_packs(), PackFile.model_validate(pack)))
    derived = derive(Case(sheet.instrument, len(lines) + 1, lines), packs)
    found = fitments(derived.draft)
    supposed = suppositions(derived.draft, found)
    return scales_of(derived.draft, derived.readings, supposed, found)


# -- the slow way: weeks and chances ---------------------------------------------------------------

TAKEN_FOR = {
    "0": "86",
    "1": "7",
    "2": "7",
    "3": "8",
    "4": "9",
    "5": "6",
    "6": "509",
    "7": "12",
    "8": "30",
    "9": "46",
}
LEGIBILITY = {"clear": (0.97, 0.005), "worn": (0.85, 0.05), "partial": (0.7, 0.12)}
MIX = (0.7, 0.2, 0.1)
FIRST, SERVICE, PERIOD, TRANSPLANT = range(4)


def monday(text):
    """The first day of the week of a code, or None where there is no such week."""
    year, week = int(text[1:3]), int(text[4:])
    if year < 50:
        return None
    try:
        return date.fromisocalendar(1900 + year, week, 1).toordinal()
    except ValueError:
        return None


class Slow:
    """The model by plain loops, on the axis of a case whose earliest date is ``earliest``."""

    def __init__(self, earliest, **values):
        self.start = earliest - round(12 * 365.2425)
        self.weeks = -(-(SEEN + 1 - self.start) // 7)
        self.values = {**PRACTICE, **values}
        self._known = {}
        self.apart = np.subtract.outer(np.arange(self.weeks), np.arange(self.weeks)).T

    def share(self, first, last):
        """The share of the days of each week that lies within."""
        return np.array(
            [
                sum(first <= self.start + 7 * w + d <= last for d in range(7)) / 7
                for w in range(self.weeks)
            ]
        )

    def lags(self, median):
        """From one day to another, by weeks: whole weeks, half of them one further apart."""

        def up_to(weeks):
            return 0.5 * (1 + erf((log(weeks) - log(median)) / (0.9 * sqrt(2)))) if weeks else 0.0

        count = min(self.weeks, 780)
        whole = [up_to(w + 1) - up_to(w) for w in range(count)]
        fresh = [(whole[w] + (whole[w - 1] if w else 0.0)) / 2 for w in range(count)]
        old = [1.0 if 52 <= w < 261 else 0.0 for w in range(count)]
        return [
            0.999 * (0.95 * fresh[w] + 0.05 * old[w] / sum(old)) + 0.001 / count
            for w in range(count)
        ]

    def code(self, text, legibility="clear", median="lag-component-median-weeks", sound=None):
        """The chance of a code, by the week in which its part was fitted."""
        right, slip = LEGIBILITY[legibility]
        right, wrong = (right, 1 - right) if sound is None else sound
        figures = [i for i, glyph in enumerate(text) if glyph in TAKEN_FOR]
        # How much of all single slips lies between codes; two of them leave a code that often twice.
        single = [
            (1 / len(TAKEN_FOR[was]), monday(text[:at] + was + text[at + 1 :]))
            for at in figures
            for was in TAKEN_FOR[text[at]]
        ]
        telling = sum(s for s, day in single if day is not None) / sum(s for s, _ in single)
        # Every way in which each figure was misread or not.
        meant, lost = np.zeros(self.weeks), 0.0
        for slips in product((False, True), repeat=len(figures)):
            chance = prod(slip if misread else 1 - slip for misread in slips)
            if sum(slips) > 1:
                lost += chance * telling**2
                continue
            at = figures[slips.index(True)] if any(slips) else None
            made = [(text, chance)]
            if any(slips):
                at = figures[slips.index(True)]
                made = [
                    (text[:at] + was + text[at + 1 :], chance / len(TAKEN_FOR[was]))
                    for was in TAKEN_FOR[text[at]]
                ]
            for each, of_it in made:
                day = monday(each)
                if day is not None:
                    meant = meant + of_it * self.share(day, day + 6)
        lags = self.lags(self.values[median])
        fitted = np.zeros(self.weeks)
        for made in np.flatnonzero(meant):
            for lag in range(min(len(lags), self.weeks - made)):
                fitted[made + lag] += meant[made] * lags[lag]
        return right * fitted + (wrong + right * lost) / 2600 + 1e-7

    def ways(self, by_week):
        """By way and week of completion, of what is fitted in one week."""
        n = self.weeks
        later = [by_week[w:].mean() for w in range(n)]
        near = [
            self.spread(by_week, years * 52.1775) / self.spread(np.ones(n), years * 52.1775)
            for years in (1.0, 1.5)
        ]
        return np.array([by_week, later, *near])

    def spread(self, by_week, mean):
        keep = exp(-1 / mean)
        falls = keep ** np.arange(self.weeks) * (1 - keep) / (1 + keep)
        return falls[np.abs(self.apart)] @ by_week

    def told(self, first, last, weeks_90):
        inside = self.share(first, last)
        # What is told to the day and what is told to the year is told with the same chance in all.
        return self.spread(inside / inside.sum(), max(weeks_90 / log(10), 0.5))

    def kind(self, first, last, overlap=20.0):
        inside = self.share(first, last)
        within = np.flatnonzero(inside)
        away = [np.abs(within - w).min() for w in range(self.weeks)]
        return np.where(inside > 0, inside, np.exp(-np.array(away) / max(overlap, 4.0)))

    def first_share(self, place, ages=None):
        """The share of first parts by week: straight in log-odds between 5 and 25 years of age."""
        if ages is None:
            ages = (SEEN - self.start - 7 * np.arange(self.weeks)) / 365.2425
        young, old = (log(p / (1 - p)) for p in SHARES[place])
        return 1 / (1 + np.exp(-(young + (ages - 5) / 20 * (old - young))))

    def prior_of_ways(self, first):
        return np.array([first, *((1 - first) * share / sum(MIX) for share in MIX)])

    def wait(self, mean):
        """By week of the event before and week of the event after."""
        keep = exp(-1 / mean)
        if mean not in self._known:
            whole = np.append((1 - keep) * keep ** np.arange(self.weeks), 0.0)
            either = (whole + np.append(0.0, whole[:-1])) / 2
            either[-1] = 0.0
            self._known[mean] = either[np.where(self.apart < 0, self.weeks, self.apart)]
        return self._known[mean]

    def enumerated(self, sizes, pieces, neck=(), union=None):
        """The weight of every state and week; of every state, and of its weeks on the neck's axis.

        Args:
            sizes: of the variables.
            pieces: functions of a state, of the anchor's weeks or of none.
            neck: functions of a state, of the neck's weeks.
            union: the variable that says whether the neck's weeks are the anchor's.
        """
        names = sorted(sizes)
        found = {}
        for values in product(*(range(sizes[name]) for name in names)):
            state = dict(zip(names, values, strict=True))
            weights = np.ones(self.weeks)
            for piece in pieces:
                weights = weights * piece(state)
            if neck:
                own = np.ones(self.weeks)
                for piece in neck:
                    own = own * piece(state)
                weights = weights * (own if state[union] else own.mean())
            found[values] = weights
        return names, found


def compare(outcome, names, weights):
    """Weeks and chances of every variable are those of the enumeration."""
    by_week = sum(weights.values())
    total = by_week.sum()
    np.testing.assert_allclose(outcome.weeks(), by_week / total, rtol=0, atol=CLOSE)
    of_state = {values: each.sum() for values, each in weights.items()}
    for i, name in enumerate(names):
        chances = np.zeros(1 + max(values[i] for values in weights))
        for values, weight in of_state.items():
            chances[values[i]] += weight / total
        np.testing.assert_allclose(outcome.chances(name), chances, rtol=0, atol=CLOSE, err_msg=name)
    assert outcome.log_total() == pytest.approx(log(total), abs=1e-7)


# -- one root: a row of two, an integral child, a shared source of rows and a shared teller ----------

POT_CODES = {"pot.1": ("W61-45", "clear"), "pot.2": ("W61-50", "worn")}
ONE_ROOT = {
    "marks": [
        mark("body", "W62-10"),
        *(mark(place, *read) for place, read in POT_CODES.items()),
        mark("pickup", "W61-40"),
        mark("coil", "W61-44", "partial"),
    ],
    "traces": [
        {"id": "joints", "trace": "one-flow", "positions": ["pot.1", "pot.2"]},
        {"id": "seat", "trace": "seat-fits", "positions": ["pickup"]},
        {"id": "worn", "trace": "seat-worn", "positions": ["pickup"]},
        {"id": "cut", "trace": "seat-cut", "positions": ["pickup"]},
    ],
    "features": [
        {"id": "routing", "position": "body", "feature": "routing", "value": "deep"},
    ],
    "sources": [
        {"id": "owner", "kind": "testimony", "title": "The owner"},
        {"id": "card", "kind": "document", "title": "A card"},
    ],
    "testimony": [
        {"id": "made", "source": "owner", "says": "so", "event": "completed", "date": "1962"},
        {"id": "bought", "source": "owner", "says": "so", "event": "first sold", "date": "1963"},
    ],
    "papers": [
        {
            "id": "sent",
            "source": "card",
            "paper": "card",
            "says": "so",
            "event": "dispatched",
            "date": "1962-06-14",
            "names_this_object": "yes",
        }
    ],
}
# An account of 1962 is allowed two years either way.
EARLIEST = date(1962, 1, 1).toordinal() - 730
POTS = "parts-together"


def year(number, last=None):
    return date(number, 1, 1).toordinal(), date(last or number, 12, 31).toordinal()


def even(state_of, holds):
    return lambda state: holds if state[state_of] else 1 - holds


def one_root(slow, without=(), taken=None, waits=(6.0, 26.0)):
    """The pieces of the case above, by hand; ``waits`` are from one event to the next."""
    n, taken = slow.weeks, taken or {}
    sound = {line: (0.97, 0.0) if is_so else (0.0, 0.03) for line, is_so in taken.items()}
    one = np.ones(n)

    def read(place, text, legibility="clear"):
        line = f"mark-{place.replace('.', '-')}"
        return one if line in without else slow.code(text, legibility, sound=sound.get(line))

    body = read("body", "W62-10")
    pots = slow.ways(read("pot.1", *POT_CODES["pot.1"]) * read("pot.2", *POT_CODES["pot.2"]))
    pickup_by_week, coil_by_week = read("pickup", "W61-40"), read("coil", "W61-44", "partial")
    pickup, coil = slow.ways(pickup_by_week), slow.ways(coil_by_week)
    as_one = slow.ways(pickup_by_week * coil_by_week)
    prior = {
        "pots": slow.prior_of_ways(slow.first_share("pot")),
        "pickup": slow.prior_of_ways(slow.first_share("pickup")),
        "coil": slow.prior_of_ways(slow.first_share("coil")),
    }

    def both(parent, own):
        """The coil came with the pickup, and so in its week, or was renewed on it since."""
        apart = prior["coil"][own] * pickup[parent] * coil[own]
        if parent == FIRST:
            return apart
        if own == FIRST:
            return np.zeros(n)
        return apart + (prior["coil"][FIRST] * as_one[own] if own == parent else 0.0)

    coil_with_pickup = {(p, c): both(p, c) for p, c in product(range(4), repeat=2)}

    joints = [1.0, 1 / 30, 1 / 6, 1 / 6]
    seats = {"seat": (12.0, 2.0), "worn": (5.0, 1.5)}
    best = max((seats[x] for x in seats if x not in without), default=(1.0, 1.0))
    cut = (1.0, 1.0) if "cut" in without else (0.2, 0.4)
    seat = [1.0, *(1 / (a * b) for a, b in zip((*best, best[1]), (*cut, cut[1]), strict=True))]
    by_chance, error = slow.values["agrees-by-chance"], slow.values["comparison-error"]
    deep = (1 - error) * slow.kind(*year(1961, 1963)) + error * by_chance
    drift = 2 * 52.1775
    # Where the rows are wrong: as often as it is found where they hold.
    altered = slow.values.get("unaltered-root", 0.75)
    anyhow = by_chance + (1 - by_chance) * altered * slow.values["sound-first-hand-observation"]

    def routing(state):
        if "routing" in without:
            return one
        rows = state["rows of small from register of kinds"]
        if rows and not (state["as-made:body"] and state["sound:routing"]):
            return one * by_chance
        return deep if rows else one * anyhow

    told_made = slow.told(*year(1962), drift) + 1e-12
    told_sold = slow.told(*year(1963), drift) + 1e-12
    sent = date(1962, 6, 14).toordinal()
    told_sent = slow.told(sent, sent, 2.0) + 1e-12

    def owner_on_completion(state):
        return told_made if state["source:owner"] else np.full(n, 1 / n)

    def chain(state):
        sold = told_sold if state["source:owner"] else np.full(n, 1 / n)
        dispatched = told_sent if state["source:card"] else np.full(n, 1 / n)
        return slow.wait(waits[0]) @ (dispatched * (slow.wait(waits[1]) @ sold))

    chains = cache(lambda owner, card: chain({"source:owner": owner, "source:card": card}))
    sizes = {
        f"way:{POTS}": 4,
        "way:pickup": 4,
        "way:coil": 4,
        "rows of small from register of kinds": 2,
        "as-made:body": 2,
        "sound:routing": 2,
        "source:owner": 2,
        "source:card": 2,
    }
    pieces = [
        lambda _: body,
        lambda s: prior["pots"][s[f"way:{POTS}"]],
        lambda s: pots[s[f"way:{POTS}"]],
        lambda s: 1.0 if "joints" in without else joints[s[f"way:{POTS}"]],
        lambda s: prior["pickup"][s["way:pickup"]],
        lambda s: seat[s["way:pickup"]],
        lambda s: coil_with_pickup[s["way:pickup"], s["way:coil"]],
        routing,
        even("rows of small from register of kinds", slow.values["holds-medium"]),
        even("as-made:body", altered),
        even("sound:routing", slow.values["sound-first-hand-observation"]),
        even("source:owner", 0.75),
        even("source:card", 0.95),
        owner_on_completion,
        lambda s: chains(s["source:owner"], s["source:card"]),
    ]
    return sizes, pieces


@pytest.fixture(scope="module")
def plain():
    return scales_for(**ONE_ROOT)


def test_the_axis_runs_from_twelve_years_before_the_first_date_to_the_last_look(plain):
    slow, axis = Slow(EARLIEST), plain.evidence.axis
    assert (axis.first_day, axis.weeks) == (slow.start, slow.weeks)


def test_a_case_of_one_root_is_weighed_as_by_enumeration(plain):
    slow = Slow(EARLIEST)
    sizes, pieces = one_root(slow)
    assert dict(plain.evidence.sizes) == sizes
    compare(plain.on(), *slow.enumerated(sizes, pieces))


@pytest.mark.parametrize(
    "without",
    [
        {"mark-body", "seat"},
        {"mark-pot-1", "mark-pot-2"},
        {"seat", "worn", "cut"},
        {"routing", "mark-coil"},
        {"joints"},
    ],
    ids=lambda lines: " ".join(sorted(lines)),
)
def test_a_case_without_some_lines_is_weighed_as_by_enumeration(plain, without):
    slow = Slow(EARLIEST)
    outcome = plain.on(Terms(without=frozenset(without)))
    compare(outcome, *slow.enumerated(*one_root(slow, without=without)))


@pytest.mark.parametrize(
    "taken",
    [{"mark-body": True}, {"mark-pot-1": False, "mark-pickup": True}],
    ids=str,
)
def test_a_line_taken_for_right_or_wrong_is_weighed_as_by_enumeration(plain, taken):
    slow = Slow(EARLIEST)
    compare(plain.on(Terms(taken=taken)), *slow.enumerated(*one_root(slow, taken=taken)))


@pytest.mark.parametrize(
    "moved",
    [
        {"agrees-by-chance": 0.6},
        {"holds-medium": 0.8},
        {"lag-component-median-weeks": 32.0},
        {"comparison-error": 0.1, "unaltered-root": 0.5},
    ],
    ids=" ".join,
)
def test_with_a_value_of_practice_moved_it_is_weighed_as_by_enumeration(plain, moved):
    slow = Slow(EARLIEST, **moved)
    compare(plain.on(Terms(moved=moved)), *slow.enumerated(*one_root(slow)))


def test_with_waits_moved_the_chain_of_events_is_weighed_as_by_enumeration(plain):
    slow = Slow(EARLIEST)
    moved = {"lag-completed-to-dispatched-weeks": 13.0, "lag-dispatched-to-sold-weeks": 104.0}
    pieces = one_root(slow, waits=(13.0, 104.0))
    compare(plain.on(Terms(moved=moved)), *slow.enumerated(*pieces))


@pytest.mark.parametrize(
    "held",
    [
        {"way:pickup": [0]},
        {"way:coil": [1, 2, 3]},
        {"source:owner": [0], f"way:{POTS}": [1, 2, 3]},
        {"rows of small from register of kinds": [0]},
    ],
    ids=str,
)
def test_choices_that_are_held_are_weighed_as_by_enumeration(plain, held):
    slow = Slow(EARLIEST)
    names, weights = slow.enumerated(*one_root(slow))
    kept = {
        values: each
        for values, each in weights.items()
        if all(values[names.index(name)] in allowed for name, allowed in held.items())
    }
    total = sum(each.sum() for each in kept.values())
    outcome = plain.on(held=held)
    np.testing.assert_allclose(outcome.weeks(), sum(kept.values()) / total, rtol=0, atol=CLOSE)
    assert outcome.log_total() == pytest.approx(log(total), abs=1e-7)


def test_the_weeks_of_dispatch_and_sale_are_those_of_all_three_events_together(plain):
    slow = Slow(EARLIEST)
    sizes, pieces = one_root(slow)
    del pieces[-1]
    names, weights = slow.enumerated(sizes, pieces)
    owner, card = names.index("source:owner"), names.index("source:card")
    n, drift = slow.weeks, 2 * 52.1775
    sent = date(1962, 6, 14).toordinal()
    unknown = np.full(n, 1 / n)
    of_sale = [unknown, slow.told(*year(1963), drift) + 1e-12]
    of_dispatch = [unknown, slow.told(sent, sent, 2.0) + 1e-12]
    by_tellers = np.zeros((2, 2, n))
    for values, each in weights.items():
        by_tellers[values[owner], values[card]] += each
    dispatched, sold = np.zeros(n), np.zeros(n)
    for one, other in product((0, 1), repeat=2):
        forth = (by_tellers[one, other] @ slow.wait(6.0)) * of_dispatch[other]
        dispatched += forth * (slow.wait(26.0) @ of_sale[one])
        sold += (forth @ slow.wait(26.0)) * of_sale[one]
    later = plain.on().later()
    np.testing.assert_allclose(later["dispatched"], dispatched / dispatched.sum(), atol=CLOSE)
    np.testing.assert_allclose(later["first sold"], sold / sold.sum(), atol=CLOSE)


def test_what_was_asked_before_changes_no_answer(plain):
    before = plain.on().weeks()
    plain.on(Terms(without=frozenset({"mark-body"}))).weeks()
    plain.on(held={"way:pickup": [0]}).weeks()
    assert np.array_equal(plain.on().weeks(), before)
    assert np.array_equal(scales_for(**ONE_ROOT).on().weeks(), before)


# -- two roots, joined or not ----------------------------------------------------------------------

TWO_ROOTS = {
    "marks": [
        mark("body", "W62-10", "worn"),
        mark("switch", "W61-48"),
        mark("neck", "W63-20", "worn"),
        mark("tuners", "W63-02"),
    ],
    "features": [
        {"id": "button", "position": "tuners", "feature": "button", "value": "oval"},
        {"id": "routing", "position": "body", "feature": "routing", "value": "deep"},
    ],
}
# A kind of feature is allowed its overlap of 140 days beyond 1960.
EARLIEST_OF_TWO = date(1960, 1, 1).toordinal() - 140
UNION = "joined:body+neck"
ROWS = "rows of small from register of kinds"


def two_roots(slow):
    one, by_chance, error = np.ones(slow.weeks), 0.3, 0.03
    body = slow.code("W62-10", "worn")
    neck = slow.code("W63-20", "worn")
    switch = slow.ways(slow.code("W61-48"))
    tuners = slow.ways(slow.code("W63-02", median="lag-transformer-median-weeks"))
    prior = {p: slow.prior_of_ways(slow.first_share(p)) for p in ("switch", "tuners")}
    deep = (1 - error) * slow.kind(*year(1961, 1963)) + error * by_chance
    oval = (1 - error) * slow.kind(*year(1960, 1962)) + error * by_chance
    # The age that the report tells is the greatest that any date allows.
    told_first = float(slow.first_share("tuners", ages=(SEEN - EARLIEST_OF_TWO) / 365.2425))

    def routing(state):
        if not state[ROWS]:
            return one * (by_chance + 0.7 * 0.75 * 0.97)
        return deep if state["as-made:body"] and state["sound:routing"] else one * by_chance

    def button(state):
        if not state[ROWS]:
            return one * (by_chance + 0.7 * told_first * 0.97 * 0.8)
        is_so = state["way:tuners"] == FIRST and state["sound:button"] and state[UNION]
        return oval if is_so else one * by_chance

    sizes = {
        "way:switch": 4,
        "way:tuners": 4,
        UNION: 2,
        ROWS: 2,
        "as-made:body": 2,
        "sound:routing": 2,
        "sound:button": 2,
    }
    pieces = [
        lambda _: body,
        lambda s: prior["switch"][s["way:switch"]] * switch[s["way:switch"]],
        routing,
        even(UNION, 0.8),
        even(ROWS, 0.9),
        even("as-made:body", 0.75),
        even("sound:routing", 0.97),
        even("sound:button", 0.97),
    ]
    on_neck = [
        lambda _: neck,
        lambda s: prior["tuners"][s["way:tuners"]] * tuners[s["way:tuners"]],
        button,
    ]
    return sizes, pieces, on_neck


@pytest.fixture(scope="module")
def double():
    return scales_for(**TWO_ROOTS)


def test_two_roots_with_a_union_and_a_shared_row_are_weighed_as_by_enumeration(double):
    slow = Slow(EARLIEST_OF_TWO)
    sizes, pieces, on_neck = two_roots(slow)
    assert dict(double.evidence.sizes) == sizes
    compare(double.on(), *slow.enumerated(sizes, pieces, on_neck, UNION))


@pytest.mark.parametrize("joined", [0, 1], ids=["not joined", "joined"])
def test_two_roots_held_joined_or_not_are_weighed_as_by_enumeration(double, joined):
    slow = Slow(EARLIEST_OF_TWO)
    sizes, pieces, on_neck = two_roots(slow)
    names, weights = slow.enumerated(sizes, pieces, on_neck, UNION)
    kept = {v: w for v, w in weights.items() if v[names.index(UNION)] == joined}
    total = sum(each.sum() for each in kept.values())
    outcome = double.on(held={UNION: [joined]})
    np.testing.assert_allclose(outcome.weeks(), sum(kept.values()) / total, rtol=0, atol=CLOSE)
    for name in names:
        chances = [
            sum(w.sum() for v, w in kept.items() if v[names.index(name)] == value) / total
            for value in range(sizes[name])
        ]
        np.testing.assert_allclose(outcome.chances(name), chances, rtol=0, atol=CLOSE)


def test_evidence_does_not_cross_roots_where_the_union_does_not_hold():
    here = [x for x in TWO_ROOTS["marks"] if x["position"] in ("body", "switch")]
    alone = scales_for(marks=here)
    both = scales_for(marks=TWO_ROOTS["marks"])
    apart = both.on(held={UNION: [0]})
    together = both.on(held={UNION: [1]})
    np.testing.assert_allclose(apart.weeks(), alone.on().weeks(), rtol=0, atol=1e-12)
    np.testing.assert_allclose(
        apart.chances("way:switch"), alone.on().chances("way:switch"), rtol=0, atol=1e-12
    )
    assert np.abs(together.weeks() - apart.weeks()).max() > 1e-3


# -- works, sightings and what does not agree --------------------------------------------------------


def test_a_record_of_a_work_that_is_right_settles_the_way_and_else_leaves_the_prior():
    # With nothing else on the part: the record's own soundness is the chance that it was replaced.
    scales = scales_for(
        marks=[mark("body", "W62-10")],
        sources=[{"id": "bill", "kind": "document", "title": "Bill"}],
        works=[{"id": "w", "source": "bill", "action": "replaced", "positions": ["switch"]}],
    )
    prior = Slow(monday("W62-10")).first_share("switch")
    weeks = scales.on().weeks()
    first = float((0.05 * prior) @ weeks)
    assert scales.on().chances("way:switch")[FIRST] == pytest.approx(first, abs=1e-9)


def test_a_dated_work_and_a_sighting_are_weighed_as_by_enumeration():
    scales = scales_for(
        marks=[mark("body", "W62-10"), mark("switch", "W64-40")],
        sources=[
            {"id": "bill", "kind": "document", "title": "Bill"},
            {"id": "album", "kind": "photograph", "title": "Album"},
        ],
        works=[
            {
                "id": "w",
                "source": "bill",
                "action": "replaced",
                "positions": ["switch"],
                "date": "1965-01-04",
                "replacement": "service",
            }
        ],
        sightings=[
            {
                "id": "p",
                "source": "album",
                "date": "1963-05-06",
                "same_instrument": "yes",
                "shows": [
                    {"position": "switch", "feature": "f", "value": "v", "same_as_now": "no"}
                ],
            }
        ],
    )
    slow = Slow(monday("W62-10"))
    n = slow.weeks
    by_week = slow.code("W64-40")
    ways = slow.ways(by_week)
    first = slow.first_share("switch")
    prior = slow.prior_of_ways(first)
    done = date(1965, 1, 4).toordinal()
    then = slow.share(done, done)
    then = then / then.sum()
    before = np.array([slow.share(-(10**9), done)[w] for w in range(n)])
    fitted_then = np.array([(by_week[w:] * then[w:]).sum() for w in range(n)])
    seen = date(1963, 5, 6).toordinal()
    until = slow.share(-(10**9), seen).sum()
    since = np.array([min(max((until - w) / (n - w), 0.0), 1.0) for w in range(n)])
    limit = slow.share(-(10**9), seen) + 1e-12
    record = np.full((4, n), 0.05)
    record[SERVICE] = 0.05 + 0.95 / prior[SERVICE] * fitted_then / ways[SERVICE]
    shown = [0.95 * (1 - (1 if way == FIRST else since)) + 0.05 * 0.5 for way in range(4)]
    body = slow.code("W62-10")
    assert before.max() == 1
    sizes = {"way:switch": 4, "sound:p": 2}
    pieces = [
        lambda _: body,
        lambda s: prior[s["way:switch"]] * ways[s["way:switch"]],
        lambda s: record[s["way:switch"]] * shown[s["way:switch"]],
        even("sound:p", 0.95),
        lambda s: limit if s["sound:p"] else np.full(n, 0.5),
    ]
    assert dict(scales.evidence.sizes) == sizes
    compare(scales.on(), *slow.enumerated(sizes, pieces))


def test_a_feature_that_the_works_did_not_use_is_weighed_as_by_enumeration():
    scales = scales_for(
        marks=[mark("body", "W62-10")],
        features=[{"id": "f", "position": "plate", "feature": "material", "value": "brass"}],
    )
    slow = Slow(monday("W62-10"))
    body, prior = slow.code("W62-10"), slow.prior_of_ways(slow.first_share("plate"))
    sizes = {"way:plate": 4, "sound:f": 2, ROWS: 2}

    def disagrees(state):
        return 0.03 if state["way:plate"] == FIRST and state["sound:f"] and state[ROWS] else 0.7

    pieces = [
        lambda _: body,
        lambda s: prior[s["way:plate"]],
        disagrees,
        even("sound:f", 0.97),
        even(ROWS, 0.9),
    ]
    assert dict(scales.evidence.sizes) == sizes
    compare(scales.on(), *slow.enumerated(sizes, pieces))


# -- the arithmetic of the trade ---------------------------------------------------------------------


def flat(**shares):
    """The pack with these shares at any age."""
    catalogue = PACK["catalogues"][0]
    positions = [
        {**p, "priors": priors((shares[p["id"]],) * 2)} if p["id"] in shares else p
        for p in catalogue["positions"]
    ]
    return {**PACK, "catalogues": [{**catalogue, "positions": positions}]}


def test_a_ratio_of_3_35_takes_a_share_of_65_to_86_in_a_hundred():
    # Common practice, no source: 0.65 / 0.35 * 3.35 = 6.22 to one.
    scales = scales_for(
        flat(switch=0.65),
        marks=[mark("body", "W62-10")],
        traces=[{"id": "t", "trace": "ratio-3.35", "positions": ["switch"]}],
    )
    assert scales.on().chances("way:switch")[FIRST] == pytest.approx(0.861, abs=1e-3)


def test_four_controls_of_one_harness_are_one_piece_of_evidence():
    # Common practice, no source: a share of 0.65 and a ratio of 8 on each of four pots make 0.937;
    # multiplied they would make 0.9999.
    pots = [f"pot.{i}" for i in range(1, 5)]
    traces = [{"id": "joints", "trace": "of-one-occasion", "positions": pots}]
    traces += [{"id": f"t{i}", "trace": "eight", "positions": [pot]} for i, pot in enumerate(pots)]
    scales = scales_for(flat(pot=0.65), marks=[mark("body", "W62-10")], traces=traces)
    assert scales.on().chances(f"way:{POTS}")[FIRST] == pytest.approx(0.937, abs=5e-4)
    multiplied = 0.65 * 8**4 / (0.65 * 8**4 + 0.35)
    assert multiplied == pytest.approx(0.9999, abs=5e-5)


def test_codes_of_parts_fitted_as_one_do_not_tell_the_week_of_fitting_over_and_over():
    # Four codes of one replaced harness: replaced once, and not four times by chance at one time.
    pots = [f"pot.{i}" for i in range(1, 5)]
    codes = [mark(pot, f"W65-{20 + i}") for i, pot in enumerate(pots)]
    body = [mark("body", "W62-10"), mark("switch", "W61-50")]
    joints = [{"id": "joints", "trace": "of-one-occasion", "positions": pots}]
    as_one = scales_for(flat(pot=0.65), marks=[*body, *codes], traces=joints).on()
    each = scales_for(flat(pot=0.65), marks=[*body, *codes]).on()
    late = slice(int((date(1964, 6, 1).toordinal() - Slow(monday("W61-50")).start) // 7), None)
    assert as_one.weeks()[late].sum() < 0.05
    assert as_one.weeks()[late].sum() < each.weeks()[late].sum()


def test_a_late_part_and_what_is_integral_to_it_do_not_tell_the_week_of_fitting_twice():
    early = [mark("switch", "W60-10"), mark("pot.1", "W60-05")]
    alone = scales_for(marks=[*early, mark("pickup", "W64-40")])
    with_coil = scales_for(marks=[*early, mark("pickup", "W64-40"), mark("coil", "W64-44")])
    late = slice((date(1963, 6, 3).toordinal() - alone.evidence.axis.first_day) // 7, None)
    once, twice = (float(each.on().weeks()[late].sum()) for each in (alone, with_coil))
    assert once < 0.02
    assert twice < 2 * once


def test_a_record_that_the_part_is_no_first_one_cannot_stand_beside_the_part_being_first():
    scales = scales_for(
        marks=[mark("body", "W62-10")],
        works=[{"id": "w", "action": "replaced", "positions": ["switch"]}],
    )
    outcome = scales.on(Terms(taken={"w": True}), {"way:switch": [FIRST]})
    assert not outcome.is_possible()
    assert outcome.log_total() == -inf
    assert not outcome.weeks().any()
    assert not np.isnan(outcome.chances("way:switch")).any()


def test_nothing_with_a_date_is_nothing_to_weigh():
    assert (
        scales_for(features=[{"id": "f", "position": "body", "feature": "x", "value": "y"}]) is None
    )


# -- always the same -----------------------------------------------------------------------------

IN_A_PROCESS = """
import importlib.util, sys
spec = importlib.util.spec_from_file_location("small_case", sys.argv[1])
case = importlib.util.module_from_spec(spec)
spec.loader.exec_module(case)
for sections in (case.ONE_ROOT, case.TWO_ROOTS):
    scales = case.scales_for(**sections)
    outcome = scales.on()
    print(outcome.weeks().tobytes().hex())
    for name in scales.evidence.sizes:
        print(name, outcome.chances(name).tobytes().hex())
"""


def test_the_chances_are_the_same_to_the_last_bit_for_every_seed_of_hashing():
    top = Path(__file__).parents[2]
    told = {
        subprocess.run(
            [sys.executable, "-c", IN_A_PROCESS, __file__],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(top)},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "4242")
    }
    assert len(told) == 1
    assert b"way:pickup" in told.pop()
