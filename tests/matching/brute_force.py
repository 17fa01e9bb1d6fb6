"""The cheapest bill of a small scenario document, found by trying every set of trips.

Shares no code with the project: it reads the document itself. Every order of trips is
tried in every slot at every minute of leaving; for each set of trips the quantities come
from the corner points of their polytope. Understood: table roads in whole minutes, masses
and bales, typed needs and walls, prices a tonne or a bale, part loads, lots, whole loads.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, NamedTuple

import numpy as np

Doc = dict[str, Any]
Trips = tuple[tuple[int, int], ...]
"""Sorted trips as (pair, kg that the body takes)."""
WATER = {"subsoil": 0.18, "sand": 0.05, "straw": 0.0}
WEEK = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
EPS = 1e-6


class Best(NamedTuple):
    """Least dry kg that stay short, and the least cost of leaving no more, in minor units."""

    short: float
    cost: float


@dataclass(frozen=True)
class Need:
    build: int
    kinds: frozenset[str]
    dry: float
    clay: tuple[float, float] | None


@dataclass(frozen=True)
class Offered:
    kind: str
    held: float
    usable: float
    clay: float
    per_kg: float
    avoided: float
    lot: float
    whole: bool
    bale: int
    fee: int
    charge: int
    below: int


@dataclass(frozen=True)
class Way:
    """One way to fill the trips of a pair: `fixed` kg, or as many as are used."""

    low: float
    high: float
    fixed: float | None
    charges: float


class World:
    """The document in numbers."""

    def __init__(self, doc: Doc) -> None:
        self.doc = doc
        self.at = {place["key"]: i for i, place in enumerate(doc["places"])}
        self.needs = [n for i, b in enumerate(doc["builds"]) for n in _needs(i, b)]
        everyone = doc.get("objective", "everyone") == "everyone"
        self.offers = [_offered(offer, everyone=everyone) for offer in doc["offers"]]
        self.pairs = [
            (o, n)
            for n, need in enumerate(self.needs)
            for o, offer in enumerate(self.offers)
            if offer.kind in need.kinds and self._near(o, need)
        ]
        first = date.fromisoformat(doc["first_day"])
        span = (date.fromisoformat(doc["last_day"]) - first).days
        self.days = [first + timedelta(days=n) for n in range(span + 1)]

    def _near(self, offer: int, need: Need) -> bool:
        start, end = self.ends(offer, need)
        metres = self.doc["roads"]["metres"][start][end]
        return metres is not None and metres <= self.doc.get("reach_km", 80) * 1000

    def ends(self, offer: int, need: Need) -> tuple[int, int]:
        build = self.doc["builds"][need.build]
        return self.at[self.doc["offers"][offer]["place"]], self.at[build["place"]]

    def minutes(self, start: int, end: int) -> float:
        seconds = self.doc["roads"]["seconds"][start][end]
        return math.inf if seconds is None else float(seconds / 60)

    def open_spans(self, place: int, day: date) -> list[tuple[int, int]]:
        hours = self.doc["places"][place].get("hours")
        if not hours:
            return [(0, 24 * 60)]
        return [
            (_clock(span["opens"]), _clock(span["closes"]))
            for span in hours
            if WEEK[day.weekday()] in span.get("days", WEEK)
        ]


def _clock(text: str) -> int:
    hours, minutes = text.split(":")
    return int(hours) * 60 + int(minutes)


def _needs(number: int, build: Doc) -> Iterator[Need]:
    mix = build.get("mix", {})
    window = (
        mix.get("clay_low_percent", 15) / 100,
        mix.get("clay_high_percent", 25) / 100,
    )
    placed = 0.0
    for wall in build.get("walls", []):
        holes = sum(o["width_m"] * o["height_m"] for o in wall.get("openings", []))
        placed += (wall["length_m"] * wall["height_m"] - holes) * wall["thickness_m"]
    if placed:
        solid = placed * 1650 * 1.10
        yield Need(number, frozenset({"subsoil", "sand"}), solid * 0.985, window)
        yield Need(number, frozenset({"straw"}), solid * 0.015, None)
    for need in build.get("needs", []):
        kind = need["material"]
        kg = _kg(need["quantity"])
        if need["quantity"]["basis"] == "moist":
            kg /= 1 + WATER[kind]
        yield Need(number, frozenset({kind}), kg, None)


def _kg(quantity: Doc) -> float:
    return float(quantity["amount"]) * {"kg": 1, "t": 1000}[quantity["unit"]]


def _offered(offer: Doc, *, everyone: bool) -> Offered:
    material = offer["material"]
    kind = material["kind"]
    bale = material.get("bale_kg", 16) if kind == "straw" else 1
    lot, held = offer.get("min_lot"), offer["quantity"]
    wet = (
        0.0 if kind == "straw" else material.get("moisture_percent", WATER[kind] * 100)
    )
    price = offer.get("price", {"minor": 0, "per": "t"})
    per_kg = price["minor"] / (bale if price["per"] == "bale" else 1000)
    # Only what goes into a wall was not tipped.
    avoided = sum(offer.get("disposal", {}).values()) / 1000 if everyone else 0.0
    part = offer.get("part_load", {"charge_minor": 0, "below_kg": 0})
    clay = material.get("clay_percent", {"likely": 0})["likely"] / 100
    return Offered(
        kind=kind,
        held=held["amount"] * bale if held["unit"] == "bale" else _kg(held),
        usable=(1 - material.get("stones_percent", 0) / 100) / (1 + wet / 100),
        clay=clay,
        per_kg=per_kg,
        avoided=avoided,
        lot=0.0
        if lot is None
        else lot["amount"] * bale
        if lot["unit"] == "bale"
        else _kg(lot),
        whole=offer.get("whole_loads", False),
        bale=bale,
        fee=offer.get("loading_fee_minor", 0),
        charge=part["charge_minor"],
        below=part["below_kg"],
    )


def cheapest(doc: Doc) -> Best:
    """Try every set of trips that the trucks can drive on the days of the document."""
    world = World(doc)
    states: dict[Trips, float] = {(): 0.0}
    for truck in doc["trucks"]:
        shifts = {day: _shifts(world, truck, day) for day in world.days}
        for day in world.days:
            if day.isoformat() not in truck.get("days", [day.isoformat()]):
                continue
            following = dict(states)
            for trips, cost in states.items():
                for more, price in shifts[day].items():
                    key = tuple(sorted(trips + more))
                    following[key] = min(cost + price, following.get(key, math.inf))
            states = following
    cache: dict[object, Best] = {}
    best = Best(math.inf, math.inf)
    for trips, cost in states.items():
        mixed = _mix(world, trips, cache)
        best = min(best, Best(round(mixed.short, 3), mixed.cost + cost))
    return best


def _takes(world: World, truck: Doc, offer: int) -> int:
    own = world.offers[offer]
    if (truck["body"] == "flat_bed") != (own.kind == "straw"):
        return 0
    kg = truck["payload_kg"]
    if own.kind == "straw":
        volume = world.doc["offers"][offer]["material"].get("bale_m3", 0.149)
        kg = min(kg, int(truck["body_m3"] / volume + EPS) * own.bale)
    return int(kg // own.bale * own.bale)


def _shifts(world: World, truck: Doc, day: date) -> dict[Trips, float]:
    """The cheapest shift for each set of trips, over all orders and minutes of leaving."""
    base = world.at[truck["base"]]
    opens, closes = (
        _clock(truck.get("opens", "06:00")),
        _clock(truck.get("closes", "18:00")),
    )
    leaving = np.arange(opens, closes + 1, dtype=np.float64)
    longest = truck.get("max_shift_hours", 10) * 60
    metres = world.doc["roads"]["metres"]
    found: dict[Trips, float] = {}

    def drive(here: int, driven: int, now: np.ndarray, made: list[int]) -> None:
        if made:
            back = now + world.minutes(here, base)
            good = (back <= closes) & (back - leaving <= longest)
            if not good.any():
                return
            cost = _shift_cost(
                truck, driven + metres[here][base], float((back - leaving)[good].min())
            )
            key = tuple(
                sorted((p, _takes(world, truck, world.pairs[p][0])) for p in made)
            )
            found[key] = min(cost, found.get(key, math.inf))
        for pair, (offer, need) in enumerate(world.pairs):
            takes = _takes(world, truck, offer)
            if not takes or made.count(pair) * takes >= _most(world, pair):
                continue
            start, end = world.ends(offer, world.needs[need])
            own = world.doc["offers"][offer]
            build = world.doc["builds"][world.needs[need].build]
            loaded = _work(
                now + world.minutes(here, start),
                own.get("load_minutes", 15),
                world.open_spans(start, day),
            )
            tipped = _work(
                loaded + world.minutes(start, end),
                build.get("unload_minutes", 10),
                world.open_spans(end, day),
            )
            if np.isfinite(tipped).any():
                drive(
                    end,
                    driven + metres[here][start] + metres[start][end],
                    tipped,
                    [*made, pair],
                )

    drive(base, 0, leaving, [])
    return found


def _most(world: World, pair: int) -> float:
    """No plan carries more of a pair than this, moist kg."""
    offer, need = world.pairs[pair]
    own = world.offers[offer]
    wanted = world.needs[need].dry / own.usable
    return min(own.held, max(own.lot, wanted + own.bale))


def _shift_cost(truck: Doc, metres: int, minutes: float) -> float:
    driving = math.floor(truck["per_km_minor"] * metres / 1000 + 0.5)
    working = math.floor(truck["per_hour_minor"] * minutes / 60 + 0.5)
    return float(truck.get("call_out_minor", 0) + driving + working)


def _work(now: np.ndarray, minutes: float, spans: list[tuple[int, int]]) -> np.ndarray:
    """When the work is done that begins and ends inside one span, infinity if never."""
    done = np.full(len(now), np.inf)
    for opens, closes in sorted(spans, reverse=True):
        end = np.maximum(now, opens) + minutes
        done = np.where(end <= closes, end, done)
    return done


def _mix(world: World, trips: Trips, cache: dict[object, Best]) -> Best:
    """The best quantities for a set of trips; groups of needs that share no offer apart."""
    short = cost = 0.0
    for needs in _groups(world):
        own = tuple((p, kg) for p, kg in trips if world.pairs[p][1] in needs)
        key = (needs, own)
        if key not in cache:
            cache[key] = _corner(world, needs, own)
        short += cache[key].short
        cost += cache[key].cost
    return Best(short, cost)


def _groups(world: World) -> list[frozenset[int]]:
    groups = [{n} for n in range(len(world.needs))]
    for offer in range(len(world.offers)):
        joined = {n for o, n in world.pairs if o == offer}
        touched = [g for g in groups if g & joined]
        groups = [g for g in groups if not g & joined]
        if touched:
            groups.append(set().union(*touched))
    return [frozenset(g) for g in groups]


def _corner(world: World, needs: frozenset[int], trips: Trips) -> Best:
    pairs = sorted({pair for pair, _ in trips})
    bodies = [sorted(kg for p, kg in trips if p == pair) for pair in pairs]
    fees = sum(world.offers[world.pairs[p][0]].fee for p, _ in trips)
    ways = [
        list(_ways(world.offers[world.pairs[p][0]], own))
        for p, own in zip(pairs, bodies, strict=True)
    ]
    best = Best(math.inf, math.inf)
    for chosen in itertools.product(*ways):
        best = min(best, _lowest(world, needs, pairs, chosen))
    return Best(best.short, best.cost + fees)


def _ways(offer: Offered, bodies: list[int]) -> Iterator[Way]:
    """How the trips of a pair may be filled, with the charges for light loads."""
    room, count = float(sum(bodies)), len(bodies)
    large = sum(kg >= offer.below for kg in bodies)
    for heavy in range(large + 1) if offer.charge else [count]:
        charges = float((count - heavy) * offer.charge)
        least = max(heavy * offer.below + (count - heavy), count, 0)
        if offer.whole:
            least_used = (room - min(bodies) + 1) * offer.usable
            yield Way(least_used, room * offer.usable, room, charges)
        elif offer.bale > 1:
            for bales in range(
                math.ceil(max(least, offer.lot) / offer.bale),
                int(room // offer.bale) + 1,
            ):
                kg = float(bales * offer.bale)
                low = 0.0 if kg <= offer.lot else kg - offer.bale + EPS
                yield Way(low, kg, kg, charges)
        else:
            if least < offer.lot <= room:
                yield Way(0.0, offer.lot * offer.usable, offer.lot, charges)
            low = max(float(least), offer.lot)
            yield Way(low * offer.usable, room * offer.usable, None, charges)


def _lowest(
    world: World, needs: frozenset[int], pairs: list[int], ways: tuple[Way, ...]
) -> Best:
    """The corner with the least short, then the least cost, of one polytope over used kg."""
    wanted = sum(world.needs[n].dry for n in needs)
    if not pairs:
        return Best(wanted, 0.0)
    table, limit = _polytope(world, needs, pairs, ways)
    offers = [world.offers[world.pairs[p][0]] for p in pairs]
    slope = np.array(
        [
            ((o.per_kg if w.fixed is None else 0.0) - o.avoided) / o.usable
            for o, w in zip(offers, ways, strict=True)
        ]
    )
    constant = sum(
        w.charges + (w.fixed * o.per_kg if w.fixed is not None else 0.0)
        for o, w in zip(offers, ways, strict=True)
    )
    best = Best(math.inf, math.inf)
    for point in _corners(table, limit):
        short = max(0.0, wanted - float(point.sum()))
        best = min(best, Best(round(short, 3), float(slope @ point) + constant))
    return best


def _polytope(
    world: World, needs: frozenset[int], pairs: list[int], ways: tuple[Way, ...]
) -> tuple[np.ndarray, np.ndarray]:
    """Rows and limits of `rows @ used <= limits`."""
    rows: list[np.ndarray] = []
    limits: list[float] = []
    unit = np.eye(len(pairs))
    for axis, way in enumerate(ways):
        rows += [unit[axis], -unit[axis]]
        limits += [way.high, -way.low]
    for number in needs:
        need = world.needs[number]
        mine = np.array([float(world.pairs[p][1] == number) for p in pairs])
        rows.append(mine)
        limits.append(need.dry)
        if need.clay:
            clay = np.array([world.offers[world.pairs[p][0]].clay for p in pairs])
            rows += [mine * (need.clay[0] - clay), mine * (clay - need.clay[1])]
            limits += [0.0, 0.0]
    for number, offer in enumerate(world.offers):
        own = [axis for axis, p in enumerate(pairs) if world.pairs[p][0] == number]
        if own:
            fixed = sum(ways[axis].fixed or 0.0 for axis in own)
            free = [axis for axis in own if ways[axis].fixed is None]
            rows.append(
                sum((unit[axis] / offer.usable for axis in free), np.zeros(len(pairs)))
            )
            limits.append(offer.held - fixed)
    return np.array(rows), np.array(limits)


def _corners(table: np.ndarray, limit: np.ndarray) -> np.ndarray:
    size = table.shape[1]
    scale = 1 + np.abs(limit)
    chosen = np.array(list(itertools.combinations(range(len(limit)), size)))
    squares, sides = table[chosen], limit[chosen]
    regular = np.abs(np.linalg.det(squares)) > 1e-9
    if not regular.any():
        return np.empty((0, size))
    points = np.linalg.solve(squares[regular], sides[regular][..., None])[..., 0]
    inside = (points @ table.T <= limit + 1e-6 * scale).all(axis=1)
    return np.asarray(points[inside])
