"""The plan document as plain text, to read in a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from api.documents.check_words import check_words
from api.documents.plan_models import (
    BuildAnswer,
    DealAnswer,
    NeedAnswer,
    PlanAnswer,
    RangeAnswer,
    ShiftAnswer,
)

BEST = 5

WORDS = {
    "fit": "fit as dug",
    "fit_with_sand": "fit with sand",
    "fit_as_rich_part": "fit as the rich part of a blend",
    "fit_with_richer_soil": "fit as the lean part of a blend",
    "not_until": "not until",
    "unfit": "unfit",
}
KINDS = {
    "material": "Material",
    "driving_time": "Driving time",
    "driving_distance": "Driving distance",
    "call_out": "Call-outs",
    "overtime": "Overtime",
    "per_load": "Trucks' charge a load",
    "per_tonne": "Trucks' charge a tonne",
    "delivery": "Delivery by suppliers",
    "waiting": "Waiting",
    "loading": "Loading",
    "part_load": "Part-load charges",
    "tipping_avoided": "Tipping avoided",
}


WITHOUT_DECIMALS = frozenset({"JPY", "KRW", "ISK", "CLP", "VND"})


def minor_per_unit(currency: str) -> int:
    """Minor units of one unit of a currency."""
    return 1 if currency in WITHOUT_DECIMALS else 100


def money(minor: int, currency: str) -> str:
    """Minor units as an amount with its currency; JPY and the like have no decimals."""
    if currency in WITHOUT_DECIMALS:
        return f"{minor:,d} {currency}"
    sign = "-" if minor < 0 else ""
    return f"{sign}{abs(minor) // 100:,d}.{abs(minor) % 100:02d} {currency}"


def plan_text(plan: PlanAnswer) -> str:
    """The whole plan in lines of at most about 100 characters."""
    return "\n".join(_lines(plan)) + "\n"


def _lines(plan: PlanAnswer) -> Iterator[str]:
    yield f"{plan.name}: {plan.status.replace('_', ' ')}"
    yield f"Distances: {plan.distance_basis}."
    for build in plan.builds:
        yield from _build(plan, build)
    yield from ["", "WHO SUPPLIES WHOM"]
    for deal in plan.deals:
        pieces = f" ({deal.pieces} bales)" if deal.pieces else ""
        yield (
            f"  {deal.offer_name} -> {deal.build_name}: {deal.material}"
            f" {deal.moist_kg / 1000:.2f} t, {deal.loose_m3:.1f} m3 loose{pieces}{_over(deal)},"
            f" {_loads(deal.loads)} over {deal.road_km:.1f} km; material"
            f" {money(deal.material_minor, plan.currency)},"
            f" haul {money(deal.haul_minor, plan.currency)} ({deal.haul_payer} pays it)"
        )
    yield from ["", "SHIFTS"]
    for shift in plan.shifts:
        yield from _shift(plan, shift)
    for own in plan.unplanned:
        deal = plan.deals[own.deal]
        yield f"  NOT PLANNED: {own.moist_kg / 1000:.2f} t of {deal.offer_name} -> {deal.build_name}"
        yield from (f"    {reason}" for reason in own.reasons)
        adds = (
            ""
            if own.adds_minor is None
            else f" It adds {money(own.adds_minor, plan.currency)} to the haulage."
        )
        yield f"    What would help: {own.remedy}{adds}"
    yield from _checks(plan)
    yield from _bill(plan)
    yield from _savings(plan)
    yield from ["", "CAUTIONS"]
    yield from (f"  - {caution}" for caution in plan.cautions)


def _build(plan: PlanAnswer, build: BuildAnswer) -> Iterator[str]:
    yield from ["", f"BUILD {build.name}"]
    if build.takeoff:
        t = build.takeoff
        yield (
            f"  {t.placed_m3:.1f} m3 of wall (placed) swallow, low / likely / high: soil"
            f" {_tonnes(t.soil_moist_kg)} t moist = {_span(t.soil_loose_m3)} m3 loose, sand"
            f" {_tonnes(t.sand_moist_kg)} t moist = {_span(t.sand_loose_m3)} m3 loose,"
        )
        yield (
            f"  straw {t.straw_kg.low:.0f} / {t.straw_kg.likely:.0f} /"
            f" {t.straw_kg.high:.0f} kg, water to add {_tonnes(t.water_l)} m3"
            " (soil and sand for the reference soil)"
        )
    if build.storage_warning:
        yield f"  Room on site: {build.storage_warning}"
    for need in build.needs:
        yield from _need(plan, need)


def _need(plan: PlanAnswer, need: NeedAnswer) -> Iterator[str]:
    clay = ""
    if need.blend_clay_percent and need.clay_window_percent:
        low, high = need.clay_window_percent
        b = need.blend_clay_percent
        clay = f"; blend has {b.likely:.1f} % clay ({b.low:.1f} to {b.high:.1f}), wanted {low:g} to {high:g}"
        if need.blend_in_doubt:
            clay += "; IN DOUBT: a better test of the soil would tell"
    yield f"  Need {need.need}: {need.dry_kg / 1000:.2f} t dry{clay}"
    if need.recipe:
        yield f"    Mix on site, buckets: {need.recipe.buckets.removeprefix('Buckets: ')}"
    if need.short_reason:
        yield f"    SHORT: {need.short_reason}"
        yield from (f"    What would help: {line}" for line in need.help)
    # A typed need has no wall to share its cost.
    unit = "m3 of wall" if need.for_walls else "dry t"
    usable = [match for match in need.matches if match.cost_per_m3_minor is not None]
    for match in usable[:BEST]:
        parts = " + ".join(
            f"{part.moist_kg / 1000:.1f} t {part.offer_name}" for part in match.recipe
        )
        cost = money(match.cost_per_m3_minor or 0, plan.currency)
        yield (
            f"    {cost} per {unit}  {match.offer_name}"
            f" ({WORDS[match.verdict]}, {match.road_km} km): {parts}"
        )
    for match in need.matches:
        if match.cost_per_m3_minor is None:
            why = match.barrier or match.reasons[0].text
            yield f"    not used: {match.offer_name} ({WORDS[match.verdict]}): {why}"


def _shift(plan: PlanAnswer, shift: ShiftAnswer) -> Iterator[str]:
    yield (
        f"  {shift.day} {shift.truck_name}: {shift.leave:%H:%M} to {shift.back:%H:%M},"
        f" {shift.km:.1f} km ({shift.empty_km:.1f} empty), {_loads(len(shift.loads))},"
        f" {money(shift.cost_minor, plan.currency)}"
    )
    loads = iter(shift.loads)
    for stop in shift.stops:
        if stop.kind == "load":
            load = next(loads, None) if stop.trip is None else shift.loads[stop.trip]
            if load is None:
                yield f"    {stop.begin:%H:%M} load at {stop.place_name}, then break off"
                continue
            full = f"full by {load.bound}" if load.bound else "part load"
            yield (
                f"    {stop.begin:%H:%M} load {load.material} {load.moist_kg / 1000:.2f} t,"
                f" {load.loose_m3:.1f} m3 ({full}) at {stop.place_name}"
            )
        elif stop.kind == "tip":
            yield f"    {stop.begin:%H:%M} tip at {stop.place_name} after {stop.leg_km:.1f} km"
        elif stop.kind in ("rest", "clean"):
            doing = "rest" if stop.kind == "rest" else "clean the body"
            yield f"    {stop.begin:%H:%M} {doing} at {stop.place_name} until {stop.end:%H:%M}"


def _checks(plan: PlanAnswer) -> Iterator[str]:
    if not plan.truck_checks:
        return
    yield from ["", "WHAT WAS CHECKED OF EACH TRUCK"]
    for check in plan.truck_checks:
        own = check_words(check)
        yield f"  {own.name} ({', '.join(map(str, own.days))}): {own.load}"
        yield f"    What sets it: {own.binds}"
        yield from (f"    DOES NOT PASS: {line}" for line in own.fails)
        yield from (f"    Look first: {line}" for line in own.look)
        yield from (f"    Nobody said of {line}" for line in own.silent)
        if own.unchecked:
            yield f"    Not looked at: {own.unchecked}"
    decides = dict.fromkeys(check.decides for check in plan.truck_checks)
    yield from (f"  {words}" for words in decides)


def _bill(plan: PlanAnswer) -> Iterator[str]:
    yield from ["", "THE BILL"]
    for kind, amount in plan.subtotals_minor.items():
        yield f"  {KINDS[kind]:<22} {money(amount, plan.currency):>18}"
    yield f"  {'Total':<22} {money(plan.total_minor, plan.currency):>18}"
    yield from _ends(plan)
    if plan.unplanned:
        yield "  Without bound: a part of the hauls is not planned"
    else:
        proof = "proven optimal (but for rounding)" if plan.proven_optimal else "gap"
        yield (
            f"  No plan can cost less than {money(plan.lower_bound_minor, plan.currency)}"
            f" ({plan.bound_method}): {proof} {plan.gap_percent:.2f} %"
        )
    yield (
        f"  Haulage of these deals: {money(plan.haul_cost_minor, plan.currency)}, no less than"
        f" {money(plan.haul_bound_minor, plan.currency)} ({plan.haul_bound_method}):"
        f" gap {plan.haul_gap_percent:.2f} %"
    )
    yield f"  {plan.km:.1f} km, {plan.empty_km:.1f} km of them empty, {plan.tonne_km:.0f} t km"
    yield from _carbon(plan)


def _carbon(plan: PlanAnswer) -> Iterator[str]:
    own = plan.carbon
    if own and own.kg_co2e:
        wall = own.kg_co2e_per_wall_m3
        each = f", {wall:.1f} kg a m3 of wall" if wall else ""
        yield (
            f"  {own.kg_co2e:.0f} kg CO2e of driving, {own.empty_kg_co2e:.0f} kg of them"
            f" empty{each}"
        )
        yield f"    by: {own.source}"


def _ends(plan: PlanAnswer) -> Iterator[str]:
    if plan.ends:
        low, high = plan.ends.low_minor, plan.ends.high_minor
        yield (
            f"  If walls and ground turn out at the ends of what is known:"
            f" {money(low, plan.currency)} to {money(high, plan.currency)}"
        )
        if plan.ends.short_dry_kg:
            yield (
                f"  At the worst end {plan.ends.short_dry_kg / 1000:.2f} t (dry) would still"
                " be missing"
            )
    if plan.safety and plan.safety.price_minor is not None:
        yield (
            f"  Safe at the far end of what is known: costs"
            f" {money(plan.safety.price_minor, plan.currency)} more than a plan at likely"
            f" figures ({money(plan.safety.plain_total_minor, plan.currency)})"
        )


def _savings(plan: PlanAnswer) -> Iterator[str]:
    if not plan.savings:
        return
    yield from ["", "WHAT THE HOLDERS SAVE, AND A FAIR SPLIT"]
    for own in plan.savings:
        avoided = money(own.avoided_minor, plan.currency)
        if own.payment_minor is None or own.gain_each_minor is None:
            yield f"  {own.offer_name}: {avoided} of tipping avoided; no split is proposed"
            continue
        giver = (
            "holder pays builders" if own.payment_minor >= 0 else "builders pay holder"
        )
        yield (
            f"  {own.offer_name}: {avoided} of tipping avoided; {giver}"
            f" {money(abs(own.payment_minor), plan.currency)}, then each side is"
            f" {money(own.gain_each_minor, plan.currency)} better off than alone"
        )


def _span(range_: RangeAnswer) -> str:
    return f"{range_.low:.1f} / {range_.likely:.1f} / {range_.high:.1f}"


def _tonnes(range_: RangeAnswer) -> str:
    return f"{range_.low / 1000:.1f} / {range_.likely / 1000:.1f} / {range_.high / 1000:.1f}"


def _over(deal: DealAnswer) -> str:
    # A bale or a rounded kilogram over is nobody's news.
    if deal.left_over_kg < max(100, 0.05 * deal.moist_kg):
        return ""
    return (
        f" ({deal.left_over_kg / 1000:.2f} t of it more than the wall takes: it is sold in"
        " lots or whole loads)"
    )


def _loads(count: int) -> str:
    return "1 load" if count == 1 else f"{count} loads"
