"""Shift plans: ours against OR-Tools as it comes and guided, PyVRP and VROOM.

    python -m tests.benchmarks.plans [--quick] [--only 0,3] [--most-seconds 60]

Each instance is planned by us first; the rivals get as long as we took (at least 2 s). The
order of loads that a rival finds is driven by our windows, billed by our rules and replayed
(plan_pricing.py): an answer that leaves a load out or cannot be driven has no price. VROOM
runs where its binding is installed. What the rivals are spared, or must do without, is
printed above the table.
"""

from __future__ import annotations

import argparse
import sys
import time
from functools import partial

from logistics.domain.planning.planner import plan_hauls
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import HaulPlan
from tests.benchmarks.plan_instances import QUICK, SIZES, instance
from tests.benchmarks.plan_pricing import priced
from tests.benchmarks.plan_rivals import (
    Nodes,
    Rival,
    has_vroom,
    nodes_of,
    or_tools,
    py_vroom,
    py_vrp,
)
from tests.logistics.domain.planning.replay import faults

LEAST_S = 2.0
SPARED = """\
All: loads are cut beforehand, full ones of the largest truck and a rest; days are alike;
     cleaning comes with the drive to the next pickup; waiting is at the pickup.
PyVRP: a load with several openings is a group of clients, one of which is visited.
VROOM: waiting has no price in its search.
Left out of the instances, because two or more do not know it: rests, limits at once and
a day, stores, nights away, milk runs, bills by the load or the tonne."""


def say(text: str) -> None:
    """Print a line at once."""
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def rivals() -> list[tuple[str, Rival]]:
    """All rivals that are installed, by name."""
    found: list[tuple[str, Rival]] = [
        ("OR-Tools, defaults", partial(or_tools, guided=False)),
        ("OR-Tools, guided", partial(or_tools, guided=True)),
        ("PyVRP", py_vrp),
    ]
    return [*found, ("VROOM", py_vroom)] if has_vroom() else found


def ours(problem: PlanProblem) -> tuple[HaulPlan, float]:
    """Our plan and the seconds that it took; stops the run if the plan is not sound."""
    begin = time.perf_counter()
    plan = plan_hauls(problem)
    took = time.perf_counter() - begin
    broken = faults(problem, plan)
    if broken or plan.unplanned:
        raise SystemExit(f"our plan is no plan: {broken or plan.unplanned}")
    return plan, took


def compare(number: int, most_s: float) -> None:
    """Print the lines of one instance."""
    problem = instance(number)
    plan, took = ours(problem)
    nodes: Nodes = nodes_of(problem)
    size = f"{number:>2} {len(nodes.loads):>5}"
    say(
        f"{size} {'ours':<20} {plan.haul_cost:>10} {1:>8.4f} {plan.gap:>7.2%} {took:>6.1f}"
    )
    limit = min(max(LEAST_S, took), most_s)
    for name, rival in rivals():
        begin = time.perf_counter()
        cost, wrong = priced(nodes, rival(nodes, limit))
        spent = time.perf_counter() - begin
        if cost is None:
            say(f"{size} {name:<20} {wrong:>27} {spent:>6.1f}")
            continue
        gap = (cost - plan.bound.amount) / cost
        ratio = cost / plan.haul_cost
        say(f"{size} {name:<20} {cost:>10} {ratio:>8.4f} {gap:>7.2%} {spent:>6.1f}")


def main(arguments: list[str] | None = None) -> None:
    """Print a line for each planner and instance."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.plans")
    parser.add_argument("--quick", action="store_true", help="the two smallest")
    parser.add_argument("--only", help="numbers of instances, as 0,3")
    parser.add_argument("--most-seconds", type=float, default=float("inf"))
    asked = parser.parse_args(arguments)
    numbers = list(QUICK) if asked.quick else list(range(len(SIZES)))
    if asked.only:
        numbers = [int(word) for word in asked.only.split(",")]
    say(SPARED)
    say(
        f"\n{'':>2} {'loads':>5} {'planner':<20} {'cost':>10} {'ratio':>8} {'gap':>7} s"
    )
    for number in numbers:
        compare(number, asked.most_seconds)


if __name__ == "__main__":
    main()
