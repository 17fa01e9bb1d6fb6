"""Random small scenario documents: two soils and a sand, walls or typed needs."""

from __future__ import annotations

import random
from typing import Any

from tests.matching.small_documents import (
    Doc,
    bales,
    build,
    document,
    flat_bed,
    needing,
    sand,
    soil,
    tipper,
    tonnes,
    wall,
)


def random_world(seed: int) -> Doc:
    rng = random.Random(seed)
    spots = {
        key: (rng.randint(0, 30), rng.randint(0, 30))
        for key in ("depot", "a", "b", "c", "site", "plot", "farm")
    }
    return document(spots, **_parts(rng))


def _terms(rng: random.Random) -> Doc:
    """Terms of sale of a random kind."""
    return rng.choice(
        (
            {},
            {"part_load": {"charge_minor": rng.choice((500, 4000)), "below_kg": 5000}},
            {"part_load": {"charge_minor": rng.choice((500, 4000)), "below_kg": 9000}},
            {"min_lot": tonnes(rng.choice((2, 6)))},
            {"whole_loads": True, "quantity": tonnes(300)},
            {"loading_fee_minor": rng.choice((500, 2500))},
            {"disposal": {"tipping_minor_per_t": rng.choice((800, 2500))}},
        )
    )


def _parts(rng: random.Random) -> dict[str, Any]:
    walls = rng.random() < 0.6
    rich, price = rng.choice((30, 45, 60)), rng.choice((-600, 0, 400))
    lean, other = rng.choice((8, 18, 22)), rng.choice((-300, 0, 700))
    offers = [
        soil("rich", "a", rich, price, **{"held": rng.choice((7, 300)), **_terms(rng)}),
        soil("mild", "b", lean, other, **{"held": rng.choice((8, 300)), **_terms(rng)}),
        sand("sharp", "c", rng.choice((900, 2200)), **_terms(rng)),
    ]
    truck = tipper(
        payload_kg=rng.choice((8000, 14_000)),
        call_out_minor=rng.choice((0, 9000)),
        max_shift_hours=rng.choice((8, 10)),
    )
    if walls:
        offers.append(bales("straw", "farm", 250, 60))
        builds = [build("hut", "site", walls=wall(rng.choice((2, 5, 8))))]
        trucks = [truck, flat_bed(per_hour_minor=1000)]
    else:
        wanted = [
            needing("sand", rng.randint(2, 12)),
            needing("subsoil", rng.randint(2, 12), key="earth"),
        ]
        builds = [
            build("hut", "site", needs=wanted),
            build("oven", "plot", needs=[needing("sand", rng.randint(2, 9))]),
        ]
        trucks = [truck]
    last = rng.choice(("2027-04-05", "2027-04-06"))
    return {"offers": offers, "builds": builds, "trucks": trucks, "last_day": last}
