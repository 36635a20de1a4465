"""Invented instruments with a known history, and what an examiner would record of them.

A history is drawn first: when the instrument was completed, in which way each of its parts came
there, how long parts lay before they were fitted, which rows of reference hold and which tellers are
right. Then comes what can be seen of it today: codes, misread now and then, traces, features, labels,
papers, accounts, sightings and records of works, each present or absent whatever it would say. From
that a bench sheet is written, and a pack whose rows are the rates by which the history was drawn.

The histories follow the model that the weighing states, by other code: in days and not in weeks,
by drawing and not by summing; nothing of the program is imported.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from math import exp, log
from random import Random
from typing import Any

WAYS = ("first", "service", "period", "transplant")
YEAR, WEEK = 365.2425, 7
ERA_BEGINS, ERA_ENDS = date(1954, 1, 4).toordinal(), date(2001, 1, 1).toordinal()
CODES_FROM, CODES_TO = 1951, 2000
MAKER, SCOPE = "Trial", {"maker": "Trial"}
UNSOURCED = "common practice, no source (a trial world)"
# Which figure is taken for which: the digits of the standard list.
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
# A feature of three kinds, one after the other, and from when to when each was used.
KINDS = (("early", None, "1969"), ("middle", "1970", "1985"), ("late", "1986", None))
OVERLAP_DAYS = 270
EXAMINER = "sitting"


@dataclass(frozen=True)
class World:
    """The rates by which histories are drawn; those of a pack are the same, or wrong on purpose."""

    shares: dict[str, tuple[float, float]] = field(
        default_factory=lambda: {
            "pot": (0.85, 0.6),
            "capacitor": (0.8, 0.5),
            "switch": (0.8, 0.55),
            "jack": (0.7, 0.4),
            "pickup": (0.85, 0.65),
            "coil": (0.9, 0.8),
            "tuners": (0.75, 0.5),
            "plate": (0.9, 0.75),
            "serial": (0.95, 0.85),
        }
    )
    joined: tuple[float, float] = (0.9, 0.75)
    mix: tuple[float, float, float] = (0.7, 0.2, 0.1)
    lag_weeks: dict[str, float] = field(
        default_factory=lambda: {"component": 10, "slow": 26, "wood": 6}
    )
    lag_sigma: float = 0.9
    old_share: float = 0.05
    any_age: float = 0.001
    spread_years: tuple[float, float] = (1.0, 1.5)
    slip: dict[str, float] = field(
        default_factory=lambda: {"clear": 0.005, "worn": 0.05, "partial": 0.12}
    )
    sound: dict[str, float] = field(
        default_factory=lambda: {
            "clear-mark": 0.97,
            "worn-mark": 0.85,
            "partial-mark": 0.7,
            "first-hand-observation": 0.97,
            "document": 0.93,
            "work": 0.95,
            "paper-naming-object": 0.95,
            "testimony": 0.75,
            "testimony-relayed": 0.55,
            "sighting": 0.95,
        }
    )
    holds: float = 0.9
    unaltered: float = 0.75
    by_chance: float = 0.3
    error: float = 0.03
    label_days: float = 365
    drift_years: tuple[float, float] = (2, 5)
    waits_weeks: tuple[float, float] = (6, 26)
    # Chance of the good outcome of a test of the seat and of the joints: first, service, matching.
    seat: tuple[float, float, float] = (0.9, 0.25, 0.6)
    joints: tuple[float, float, float] = (0.95, 0.05, 0.4)
    recorded_works: float = 0.12


def with_priors_off(world: World, by: float = 1.2) -> World:
    """The same world with every share of first parts higher by so much in log-odds."""

    def moved(pair):
        return tuple(1 / (1 + exp(-(log(p / (1 - p)) + by))) for p in pair)

    shares = {name: moved(pair) for name, pair in world.shares.items()}
    return replace(world, shares=shares, joined=moved(world.joined))


def with_lags_doubled(world: World) -> World:
    """The same world with parts that lie twice as long."""
    return replace(world, lag_weeks={name: 2 * weeks for name, weeks in world.lag_weeks.items()})


def with_slips_times(world: World, times: float) -> World:
    """The same world with so many times the slips of reading."""
    return replace(world, slip={name: times * share for name, share in world.slip.items()})


# Position: what it hangs from, how, the class of its share, its lag and its assembly.
POSITIONS = {
    "pot.1": ("pot", "component"),
    "pot.2": ("pot", "component"),
    "capacitor": ("capacitor", "slow"),
    "switch": ("switch", "component"),
    "jack": ("jack", "component"),
    "pickup.1": ("pickup", "component"),
    "pickup.2": ("pickup", "component"),
    "pickup-coil.1": ("coil", "component"),
    "tuners": ("tuners", "component"),
    "neck-plate": ("plate", "component"),
    "serial": ("serial", "component"),
}
HARNESS = ("capacitor", "pot.1", "pot.2")
EVENTS = {
    "harness": HARNESS,
    **{name: (name,) for name in POSITIONS if name not in HARNESS and name != "pickup-coil.1"},
    "pickup-coil.1": ("pickup-coil.1",),
}
NECK = ("tuners",)


@dataclass
class History:
    """What truly happened; ``holding`` says of each supposition whether it is so."""

    completed: int
    neck_completed: int
    dispatched: int
    sold: int
    ways: dict[str, str] = field(default_factory=dict)
    nominal: dict[str, float] = field(default_factory=dict)
    fitted: dict[str, float] = field(default_factory=dict)
    holding: dict[str, bool] = field(default_factory=dict)


@dataclass(frozen=True)
class Specimen:
    """A sheet as recorded, and the history behind it."""

    sheet: dict[str, Any]
    history: History


class Drawing:
    """One history and one sheet, drawn from a world with its own dice."""

    def __init__(self, world: World, seed: int) -> None:
        self.world, self.dice = world, Random(seed)  # noqa: S311 - a trial, nothing secret
        completed = self.dice.uniform(ERA_BEGINS, ERA_ENDS)
        self.age = (ERA_ENDS - completed) / YEAR
        joined = self.chance(self.at_age(world.joined))
        neck = completed if joined else self.dice.uniform(ERA_BEGINS, ERA_ENDS)
        sent = completed + self.wait(0)
        self.true = History(int(completed), int(neck), int(sent), int(sent + self.wait(1)))
        self.true.holding["joined:body+neck"] = joined
        self.sheet: dict[str, list[dict[str, Any]]] = {
            "sources": [
                {"id": EXAMINER, "kind": "examination", "title": "Sitting", "date": day(ERA_ENDS)}
            ]
        }

    # -- dice ---------------------------------------------------------------------------------

    def chance(self, share: float) -> bool:
        return self.dice.random() < share

    def at_age(self, ends: tuple[float, float]) -> float:
        """The share at the true age; the ends are those at 10 and at 40 years."""
        young, old = (log(p / (1 - p)) for p in ends)
        odds = young + (self.age - 10) / 30 * (old - young)
        return min(max(1 / (1 + exp(-odds)), 0.01), 0.99)

    def wait(self, which: int) -> float:
        return self.dice.expovariate(1 / (self.world.waits_weeks[which] * WEEK))

    def either_way(self, mean_days: float) -> float:
        return self.dice.expovariate(1 / mean_days) * self.dice.choice((-1, 1))

    def any_day(self) -> int:
        return int(self.dice.uniform(ERA_BEGINS, ERA_ENDS))

    def lag(self, kind: str) -> float:
        world = self.world
        if self.chance(world.any_age):
            return self.dice.uniform(0, 780) * WEEK
        if self.chance(world.old_share):
            return self.dice.uniform(1, 5) * YEAR
        return self.dice.lognormvariate(log(world.lag_weeks[kind]), world.lag_sigma) * WEEK

    # -- history ------------------------------------------------------------------------------

    def came_there(self, event: str) -> None:
        """Draw the way of an event, and a record of the work where one was kept."""
        true, world = self.true, self.world
        base = true.neck_completed if event in NECK else true.completed
        first = min(self.at_age(world.shares[POSITIONS[p][0]]) for p in EVENTS[event])
        prior = [first, *((1 - first) * share / sum(world.mix) for share in world.mix)]
        way, at = self.dice.choices(WAYS, prior)[0], None
        parent = "pickup.1" if event == "pickup-coil.1" else None
        came_with = parent is not None and way == "first"
        if came_with:
            way = true.ways[parent]
        elif self.chance(world.recorded_works) and parent is None:
            way, at = self.recorded(event, way, prior, base)
        if way == "first":
            nominal = fitted = base
        else:
            fitted = at if at is not None else self.dice.uniform(base, ERA_ENDS)
            spread = dict(zip(WAYS[2:], world.spread_years, strict=True)).get(way)
            nominal = fitted if spread is None else base + self.either_way(spread * YEAR)
        if came_with:
            nominal, fitted = true.nominal[parent], true.fitted[parent]
        true.ways[event], true.nominal[event], true.fitted[event] = way, nominal, fitted
        true.holding[f"way:{event}"] = way == "first"

    def recorded(
        self, event: str, way: str, prior: list[float], base: int
    ) -> tuple[str, int | None]:
        """A record of a work on the event: it is right, and settles the way, or it is wrong."""
        when = self.any_day()
        is_right = self.chance(self.world.sound["work"])
        if is_right and when < base:
            return way, None
        says = self.dice.choice((None, None, "service", "period"))
        meant = WAYS[1:] if says is None else (says,)
        at = None
        if is_right:
            way = self.dice.choices(meant, [prior[WAYS.index(each)] for each in meant])[0]
            at = when
        self.add_source(f"bill-{event}", "document")
        work = {"id": f"work-{event}", "source": f"bill-{event}", "action": "replaced"}
        work |= {"positions": list(EVENTS[event]), "date": day(when)}
        self.add("works", work | ({"replacement": says} if says else {}))
        return way, at

    # -- sheet --------------------------------------------------------------------------------

    def add(self, section: str, line: dict[str, Any]) -> None:
        self.sheet.setdefault(section, []).append({"source": EXAMINER, **line})

    def add_source(self, name: str, kind: str, **more: str) -> None:
        self.sheet["sources"].append({"id": name, "kind": kind, "title": name, **more})

    def as_read(self, digits: str, slip: float) -> str:
        """The figures as an examiner reads them: each may be taken for another."""
        return "".join(
            self.dice.choice(TAKEN_FOR[digit]) if self.chance(slip) else digit for digit in digits
        )

    def code(self, place: str, made: float, *, has_decade: bool) -> None:
        """A date code, as read."""
        year, week, _ = date.fromordinal(int(made)).isocalendar()
        legibility = self.dice.choices(("clear", "worn", "partial"), (6, 3, 1))[0]
        if not self.chance(self.world.sound[f"{legibility}-mark"]):
            year, week = self.dice.randint(CODES_FROM, CODES_TO), self.dice.randint(1, 52)
            digits = f"{year % 100:02}{week:02}"[0 if has_decade else 1 :]
        else:
            if not CODES_FROM <= year <= CODES_TO:
                return
            digits = f"{year % 100:02}{week:02}"[0 if has_decade else 1 :]
            digits = self.as_read(digits, self.world.slip[legibility])
        scheme, sign = ("two-figures", "W") if has_decade else ("one-figure", "V")
        mark = {"id": f"mark-{place.replace('.', '-')}", "position": place}
        mark |= {"text": f"{sign}{digits[:-2]}-{digits[-2:]}"}
        self.add("marks", mark | {"scheme": scheme, "legibility": legibility})

    def codes(self) -> None:
        for root, base in (("body", self.true.completed), ("neck", self.true.neck_completed)):
            if self.chance(0.4):
                self.code(root, base - self.lag("wood"), has_decade=True)
        for event, places in EVENTS.items():
            for place in places:
                if place not in ("neck-plate", "serial") and self.chance(0.55):
                    made = self.true.nominal[event] - self.lag(POSITIONS[place][1])
                    self.code(place, made, has_decade=self.chance(0.6))

    def traces(self) -> None:
        """Joints tell that the harness is one event; a seat is tested or not, whatever it shows."""
        for event, places in EVENTS.items():
            way = min(WAYS.index(self.true.ways[event]), 2)
            if event == "harness":
                test, name = self.world.joints, "joints"
            elif self.chance(0.45) and event != "pickup-coil.1":
                test, name = self.world.seat, "seat"
            else:
                continue
            outcome = "fits" if self.chance(test[way]) else "differs"
            line = {"trace": f"{name}-{outcome}", "positions": list(places)}
            self.add("traces", {"id": f"{name}-{event.replace('.', '-')}", **line})
            if name == "seat" and self.chance(0.3):
                # The same seat looked at in another way, which shows nothing else.
                again = {"trace": f"shadow-{outcome}", "positions": list(places)}
                self.add("traces", {"id": f"shadow-{event.replace('.', '-')}", **again})

    def features(self) -> None:
        """Kinds of feature on the body and on the tuners, each by a register of its own."""
        true, world = self.true, self.world
        sound = {p: self.chance(world.sound["first-hand-observation"]) for p in ("body", "tuners")}
        as_made = self.chance(world.unaltered)
        true.holding["as-made:body"] = as_made
        speaks = {
            "body": as_made,
            "tuners": true.ways["tuners"] == "first" and true.holding["joined:body+neck"],
        }
        for place, register in (("body", "routing"), ("tuners", "button")):
            holds = self.chance(world.holds)
            true.holding[f"register of {register}"] = holds
            if not holds:
                kind = self.dice.choice(KINDS)[0]
            elif sound[place] and speaks[place] and not self.chance(world.error):
                base = true.completed if place == "body" else true.neck_completed
                kind = self.dice.choices([k[0] for k in KINDS], [use(k, base) for k in KINDS])[0]
            else:
                shares = (*(world.by_chance for _ in KINDS), 1 - len(KINDS) * world.by_chance)
                kind = self.dice.choices((*(k[0] for k in KINDS), "of another kind"), shares)[0]
            if self.chance(0.6):
                line = {"id": f"feature-{place}", "position": place, "feature": register}
                self.add("features", line | {"value": kind})

    def label(self) -> None:
        """A month on the neck plate, and a number."""
        true, world = self.true, self.world
        for event, share in (("neck-plate", 0.4), ("serial", 0.25)):
            legibility = self.dice.choice(("clear", "worn"))
            holds = event != "serial" or self.chance(world.holds)
            is_so = true.ways[event] == "first" and holds
            is_so &= self.chance(world.sound[f"{legibility}-mark"])
            days = world.label_days if event == "neck-plate" else 4 * WEEK
            when = true.completed + self.either_way(days / log(10)) if is_so else self.any_day()
            when = int(when)
            if event == "serial":
                true.holding["register of numbers"] = holds
            if not self.chance(share) or not ERA_BEGINS <= when < ERA_ENDS:
                continue
            line = {"id": f"mark-{event}", "position": event, "legibility": legibility}
            if event == "serial":
                number = date.fromordinal(when).year * 1000 + self.dice.randint(0, 999)
                line |= {"text": f"N{number}", "scheme": "numbers"}
            else:
                line |= {"text": "written", "scheme": "none", "reads": day(when)[:7]}
            self.add("marks", line)

    def papers(self) -> None:
        """Papers and people, right or wrong as one, with now and then a copy of what they say."""
        kinds = (
            ("card", "document", "paper-naming-object", PAPER_DAYS, 0.25),
            ("owner", "testimony", "testimony", self.world.drift_years[0] * YEAR, 0.3),
            ("heir", "testimony", "testimony-relayed", self.world.drift_years[1] * YEAR, 0.3),
        )
        moments = {
            "completed": self.true.completed,
            "dispatched": self.true.dispatched,
            "first sold": self.true.sold,
        }
        for name, kind, sound, days, share in kinds:
            is_right = self.chance(self.world.sound[sound])
            if not self.chance(share):
                continue
            self.true.holding[f"source:{name}"] = is_right
            hand = {"hand": "relayed"} if sound.endswith("relayed") else {}
            self.add_source(name, kind, **hand)
            section = "papers" if kind == "document" else "testimony"
            for event in self.dice.sample(sorted(moments), self.dice.choice((1, 1, 2))):
                when = moments[event] + self.either_way(days / log(10))
                when = int(when) if is_right else self.any_day()
                if not ERA_BEGINS <= when < ERA_ENDS:
                    continue
                told = day(when) if kind == "document" else day(when)[:4]
                line = {"id": f"{name}-{event.replace(' ', '-')}", "source": name, "says": "so"}
                line |= {"event": event, "date": told}
                paper = {"paper": "card", "names_this_object": "yes"}
                self.add(section, line | (paper if kind == "document" else {}))
                if self.chance(0.2):
                    copy = f"copy-{line['id']}"
                    self.add_source(f"{copy}-paper", kind, copied_from=name, **hand)
                    again = {"id": copy, "source": f"{copy}-paper"}
                    self.add(section, self.sheet[section][-1] | again)

    def sightings(self) -> None:
        """A picture of a known day, in which parts of now can be made out or not."""
        when = self.any_day()
        is_right = self.chance(self.world.sound["sighting"])
        if not self.chance(0.3) or (when < self.true.completed if is_right else self.chance(0.5)):
            return
        self.true.holding["sound:picture"] = is_right
        self.add_source("album", "photograph", date=day(when))
        shown = []
        for event in self.dice.sample(["jack", "pickup.2", "switch"], 2):
            way, fitted = self.true.ways[event], self.true.fitted[event]
            is_there = (way == "first" or fitted <= when) if is_right else self.chance(0.5)
            same = "yes" if is_there else "no"
            shown.append({"position": event, "feature": "look", "value": "s", "same_as_now": same})
        line = {"id": "picture", "source": "album", "date": day(when), "same_instrument": "yes"}
        self.add("sightings", line | {"shows": shown})

    def specimen(self) -> Specimen:
        """Draw everything, in a fixed order."""
        for event in EVENTS:
            self.came_there(event)
        self.codes()
        self.traces()
        self.features()
        self.label()
        self.papers()
        self.sightings()
        head = {"id": "trial", "kind": "trial-electric", "name": "Trial", "maker": MAKER}
        head["invented"] = "yes"
        return Specimen({"bench_sheet": "1", "instrument": head, **self.sheet}, self.true)


PAPER_DAYS = 2 * WEEK


def use(kind: tuple[str, str | None, str | None], when: int) -> float:
    """How far a kind was in use: wholly within its years, fading over the overlap outside."""
    _, begins, ends = kind
    first = date(int(begins), 1, 1).toordinal() if begins else -(10**9)
    last = date(int(ends), 12, 31).toordinal() if ends else 10**9
    away = max(first - when, when - last, 0)
    return exp(-away / OVERLAP_DAYS)


def day(ordinal: int) -> str:
    """The day as it is written in a sheet."""
    return date.fromordinal(int(ordinal)).isoformat()


def draw(world: World, seed: int) -> Specimen:
    """An invented instrument: its history and its sheet."""
    return Drawing(world, seed).specimen()
