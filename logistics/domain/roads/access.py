"""Who may enter a road or pass a barrier, by the OpenStreetMap keys of access.

The meaning of the tags is that of the OpenStreetMap wiki (Key:access, Conditional
restrictions, Key:barrier).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from logistics.domain.roads.conditions import Clause, clauses
from logistics.domain.roads.limits import (
    FREE,
    HGV_OVER_T,
    LIMIT_TAGS,
    NONE,
    Rule,
    posted_limits,
)

MODES = ("hgv", "motor_vehicle", "vehicle", "access")
_OPEN = frozenset(
    {
        "yes",
        "designated",
        "permissive",
        "official",
        "destination",
        "delivery",
        "customers",
        "discouraged",
        "local",
        "loading",
        "unloading",
    }
)
_OPEN_AT_THE_END_ONLY = frozenset(
    {"destination", "delivery", "customers", "local", "loading", "unloading"}
)
_SAYS_NOTHING = frozenset({"", "unknown", "unspecified"})

_HARD_BARRIERS = frozenset(
    {
        "block",
        "bollard",
        "bus_trap",
        "chain",
        "cycle_barrier",
        "debris",
        "ditch",
        "fence",
        "full-height_turnstile",
        "hedge",
        "horse_stile",
        "jersey_barrier",
        "kissing_gate",
        "log",
        "motorcycle_barrier",
        "planter",
        "rope",
        "stile",
        "sump_buster",
        "turnstile",
        "wall",
        "wicket_gate",
    }
)


@dataclass(frozen=True, slots=True)
class Reading:
    """The rule of one direction, None where no truck is admitted, and how many clauses
    of conditional tags went into it."""

    rule: Rule | None
    clauses_read: int = 0


def rule_of(tags: Mapping[str, str], direction: str) -> Reading:
    """What a direction ("forward", "backward") asks of a truck.

    hgv beats motor_vehicle beats vehicle beats access, and a form for the direction
    (`hgv:backward`) beats the plain one; nothing said means yes. A word that is not known
    as an opening is taken as a closure.
    """
    rule = _plain(tags, direction)
    if not any("conditional" in key for key in tags):
        return Reading(rule)
    return _with_conditions(tags, direction, rule)


def barrier_rule(tags: Mapping[str, str]) -> Rule | None:
    """What a node on a road asks of a truck; None where it stops all of them.

    A barrier that only says it is a gate is taken to be open. Posted limits count on other
    nodes too, but not on those of signs, which speak of the road behind them.
    """
    barrier = tags.get("barrier", "")
    if not barrier and "traffic_sign" in tags:
        return FREE
    rule = rule_of(tags, "forward").rule
    if rule is None or not barrier or _deciding(tags, "forward", MODES):
        return rule
    low_bar = barrier == "height_restrictor" and rule.height_m == NONE
    return None if low_bar or barrier in _HARD_BARRIERS else rule


def may_enter(tags: Mapping[str, str], direction: str) -> bool:
    """Whether heavy goods vehicles are admitted in a direction, sizes aside."""
    return _opens(_deciding(tags, direction, MODES))


def _plain(tags: Mapping[str, str], direction: str) -> Rule | None:
    truck = _deciding(tags, direction, MODES)
    anyone = _deciding(tags, direction, MODES[1:])
    if not _opens(truck) and not _opens(anyone):
        return None
    limits = posted_limits(tags, direction) if _has_limits(tags) else {}
    if not _opens(truck):
        limits["closed_over_t"] = HGV_OVER_T
    elif _end_only(truck):
        limits["end_over_t"] = 0.0 if _end_only(anyone) else HGV_OVER_T
    return Rule(**limits) if limits else FREE


def _has_limits(tags: Mapping[str, str]) -> bool:
    return any(key.startswith("max") and _bare(key) in LIMIT_TAGS for key in tags)


def _bare(key: str) -> str:
    for suffix in (":forward", ":backward"):
        key = key.removesuffix(suffix)
    return key.removesuffix(":hgv")


def _deciding(tags: Mapping[str, str], direction: str, modes: Sequence[str]) -> str:
    for mode in modes:
        for key in (f"{mode}:{direction}", mode):
            value = tags.get(key, "")
            if value not in _SAYS_NOTHING:
                return value
    return ""


def _opens(value: str) -> bool:
    return not value or any(part.strip() in _OPEN for part in value.split(";"))


def _end_only(value: str) -> bool:
    return value in _OPEN_AT_THE_END_ONLY


def _with_conditions(
    tags: Mapping[str, str], direction: str, rule: Rule | None
) -> Reading:
    read = 0
    # The least specific first, so that the more specific has the last word.
    for mode in reversed(_modes_that_count(tags, direction)):
        for clause in _clauses(tags, mode, direction):
            changed = _with_access(tags, mode, clause, rule)
            if changed is not None:
                rule, read = changed, read + 1
    for key in ("maxweight", "maxweightrating"):
        for clause in (
            *_clauses(tags, key, direction),
            *_clauses(tags, f"{key}:hgv", direction),
        ):
            exempt = clause.value == "none" and clause.at_the_end
            if exempt and rule is not None and rule.gross_t < NONE:
                end = min(rule.end_over_t, rule.gross_t)
                rule, read = replace(rule, gross_t=NONE, end_over_t=end), read + 1
    return Reading(rule, read)


def _modes_that_count(tags: Mapping[str, str], direction: str) -> Sequence[str]:
    for index in range(len(MODES)):
        if _deciding(tags, direction, MODES[: index + 1]):
            return MODES[: index + 1]
    return MODES


def _clauses(tags: Mapping[str, str], key: str, direction: str) -> list[Clause]:
    found = []
    for full in (f"{key}:conditional", f"{key}:{direction}:conditional"):
        if full in tags:
            found += clauses(tags[full])
    return found


def _with_access(
    tags: Mapping[str, str], mode: str, clause: Clause, rule: Rule | None
) -> Rule | None:
    """The rule changed by a clause of access, or None if the clause cannot be read."""
    if clause.at_the_end and _opens(clause.value):
        return _opened_at_the_end(tags, rule)
    over = clause.over
    if over is None or rule is None:
        return None
    name, limit = over
    if name == "gross_t" and mode == "hgv":
        limit = max(limit, HGV_OVER_T)
    if not _opens(clause.value):
        name = "closed_over_t" if name == "gross_t" else name
    elif _end_only(clause.value) and name == "gross_t":
        name = "end_over_t"
    else:
        return None
    return replace(rule, **{name: min(limit, getattr(rule, name))})


def _opened_at_the_end(tags: Mapping[str, str], rule: Rule | None) -> Rule:
    """A closure with an exception for those who have business on the road."""
    if rule is None:
        limits = posted_limits(tags, "forward") if _has_limits(tags) else {}
        return Rule(**(limits | {"end_over_t": 0.0}))
    if rule.closed_over_t == NONE:
        return rule
    end = min(rule.end_over_t, rule.closed_over_t)
    return replace(rule, closed_over_t=NONE, end_over_t=end)
