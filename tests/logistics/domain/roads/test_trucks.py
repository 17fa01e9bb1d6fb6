"""One network, many sizes of truck: against networkx on stretches of road."""

from __future__ import annotations

import itertools
from dataclasses import replace
from functools import partial

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from logistics.domain.places import Point
from logistics.domain.roads.building import Ways, prepare
from logistics.domain.roads.limits import FREE, HeavyVehicle, Rule
from logistics.domain.roads.network import NetworkFacts, RoadNetwork
from logistics.domain.roads.turns import Restriction
from tests.benchmarks.matrix import grid_ways
from tests.osm_world import refused
from tests.road_oracle import slow_table

FACTS = NetworkFacts("grid", "2026-01-01T00:00:00", "grid", "invented", HeavyVehicle())
RULES = (
    FREE,
    Rule(gross_t=7.5),
    Rule(gross_t=18),
    Rule(height_m=3.2),
    Rule(axle_t=8),
    Rule(width_m=2.3),
    Rule(length_m=7),
    Rule(closed_over_t=3.5),
    Rule(end_over_t=7.5),
    Rule(end_over_t=0),
    Rule(end_over_t=3.5, height_m=3.6),
)
# Most roads are free.
ODDS = np.array([14, *[1] * 7, 2, 2, 1]) / 26

VEHICLES = st.builds(
    HeavyVehicle,
    gross_t=st.sampled_from([3.0, 7.5, 12.0, 18.0, 32.0]),
    axle_t=st.sampled_from([5.0, 11.5]),
    height_m=st.sampled_from([3.0, 3.5, 4.0]),
    width_m=st.sampled_from([2.2, 2.55]),
    length_m=st.sampled_from([6.0, 10.0]),
)


def ruled(side: int, seed: int) -> Ways:
    """A grid with rules on some streets, some turns forbidden and some barriers."""
    random = np.random.default_rng(seed + 100)
    ways = grid_ways(side, seed)
    count = len(ways.offsets) - 1
    rule = random.choice(len(RULES), count, p=ODDS)
    other = np.where(random.random(count) < 0.2, 0, rule)
    ends = ways.refs.reshape(-1, 3)[:, [0, 2]]
    restrictions = []
    for via in random.choice(side * side, side * side // 2, replace=False).tolist():
        here = np.flatnonzero((ends == via).any(axis=1))
        if len(here) > 1:
            start, end = random.choice(here, 2, replace=bool(random.random() < 0.2))
            restrictions.append(
                Restriction(
                    from_ways=(int(start),),
                    via=via,
                    to_ways=(int(end),),
                    only=bool(random.random() < 0.3),
                    turning_back=bool(start == end),
                    over_t=float(random.choice([0.0, 3.5])),
                )
            )
    bends = ways.refs.reshape(-1, 3)[:, 1]
    gates = random.choice(bends, 3, replace=False).tolist()
    return replace(
        ways,
        number=np.arange(count),
        forward_rule=rule,
        backward_rule=other,
        rules=RULES,
        restrictions=tuple(restrictions),
        gates=dict.fromkeys(gates, 2),
    )


def places_in(network: RoadNetwork, count: int, seed: int) -> list[Point]:
    """Most beside roads, some on junctions, some twice."""
    random = np.random.default_rng(seed)
    box, arrays = network.extent, network.arrays
    points = [
        Point(random.uniform(box.south, box.north), random.uniform(box.west, box.east))
        for _ in range(count)
    ]
    nodes = random.choice(arrays.nodes, min(3, arrays.nodes))
    where = zip(arrays.node_lat[nodes], arrays.node_lon[nodes], strict=True)
    return [*points, *(Point(float(lat), float(lon)) for lat, lon in where), points[0]]


@settings(max_examples=150, deadline=None)
@given(
    side=st.integers(3, 8),
    seed=st.integers(0, 10_000),
    count=st.integers(1, 8),
    vehicle=VEHICLES,
)
def test_tables_and_routes_of_any_truck_are_those_of_networkx(
    side, seed, count, vehicle
):
    # The source is networkx.
    network = RoadNetwork(prepare(ruled(side, seed)).arrays, FACTS).for_vehicle(vehicle)
    points = places_in(network, count, seed)
    snaps = [network.snap(point, 2_000) for point in points]
    table = network.table(points, limit_m=2_000)
    assert table.basis.count(f"{vehicle.gross_t:g} t") == 1
    attached = [index for index in range(len(points)) if index not in table.barred]
    pick = np.ix_(attached, attached)
    assert table.reachable[pick].all()
    seconds, metres = slow_table(network, [snaps[index] for index in attached])
    assert (table.seconds[pick] == np.ceil(np.round(seconds, 6))).all()
    np.testing.assert_allclose(table.metres[pick], metres, atol=0.51)
    for row, column in itertools.islice(itertools.permutations(attached, 2), 12):
        route = network.route(points[row], points[column], limit_m=2_000)
        assert route.seconds == table.seconds[row, column]
        assert abs(route.metres - int(table.metres[row, column])) <= 1


@settings(max_examples=60, deadline=None)
@given(side=st.integers(3, 8), seed=st.integers(0, 10_000), vehicle=VEHICLES)
def test_a_barred_place_cannot_be_reached_or_not_be_left_in_networkx_either(
    side, seed, vehicle
):
    # The source is networkx. A few places may share the pocket of a barred one, so it is
    # not to all of the others that there is no way there and back.
    network = RoadNetwork(prepare(ruled(side, seed)).arrays, FACTS).for_vehicle(vehicle)
    points = places_in(network, 12, seed)
    table = network.table(points, limit_m=2_000)
    seconds, _ = slow_table(network, [network.snap(point, 2_000) for point in points])
    good = [index for index in range(len(points)) if index not in table.barred]
    for barred, why in table.barred.items():
        assert why
        others = [i for i in range(len(points)) if points[i] != points[barred]]
        assert not table.reachable[barred, others].any()
        assert not table.reachable[others, barred].any()
        both = [seconds[barred, other] + seconds[other, barred] for other in good]
        assert len(good) < 3 or np.inf in both
        for other in good:
            go = partial(network.route, points[other], points[barred], limit_m=2_000)
            assert refused(go) == "place_barred"


def test_trucks_that_may_use_the_same_roads_share_one_graph():
    # property
    network = RoadNetwork(prepare(ruled(6, 1)).arrays, FACTS)
    heavy = network.for_vehicle(HeavyVehicle(gross_t=26))
    small = network.for_vehicle(HeavyVehicle(gross_t=3.4, height_m=2.5))
    assert heavy.same_roads(network)
    assert heavy.view is network.view
    assert network.for_vehicle(HeavyVehicle(gross_t=26)) is heavy
    assert not small.same_roads(network)
    assert small.view.arcs > network.view.arcs
