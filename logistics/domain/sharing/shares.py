"""The front door: `share_cost(game) -> Sharing`, with the rule that was used and why."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from logistics.domain.sharing.games import CostGame
from logistics.domain.sharing.nucleolus import nucleolus
from logistics.domain.sharing.rounding import largest_remainder, whole_shares
from logistics.domain.sharing.stability import (
    EXACT,
    Excess,
    can_cap,
    in_core,
    least_core,
    worst,
)
from logistics.domain.sharing.values import shapley

MOST_FOR_SHAPLEY = 10


class Rule(StrEnum):
    """How the shares were found."""

    ALONE = "alone"
    IN_CORE = "nucleolus_in_core"
    CAPPED = "nucleolus_capped"
    UNCAPPED = "nucleolus_uncapped"


@dataclass(frozen=True)
class Sharing:
    """Shares in whole minor units that add up to the game's total.

    `worst` is the group with most reason to leave: above 0 it would pay so much less by
    itself. `stable` says that no known group would; `checked` whether all were known.
    `shapley` is the Shapley value to compare with, rounded, None where not all groups are
    known or there are too many players.
    """

    rule: Rule
    shares: tuple[int, ...]
    alone: tuple[int, ...]
    stable: bool
    checked: bool
    worst: Excess | None
    shapley: tuple[int, ...] | None
    reason: str

    @property
    def savings(self) -> tuple[int, ...]:
        """What each pays less than alone; below 0 it pays more."""
        return tuple(
            own - share for own, share in zip(self.alone, self.shares, strict=True)
        )


def share_cost(game: CostGame) -> Sharing:
    """Share the cost of everybody: by the nucleolus, which lies in the core wherever that
    is not empty, capped at what each would pay alone where such shares exist."""
    shares = whole_shares(game, nucleolus(game))
    stable = in_core(game, shares)
    rule = _rule(game, shares, stable=stable)
    most = worst(game, shares)
    return Sharing(
        rule=rule,
        shares=shares,
        alone=game.alone,
        stable=stable,
        checked=game.complete,
        worst=most,
        shapley=_shapley(game),
        reason=_reason(game, rule, most),
    )


def _rule(game: CostGame, shares: tuple[int, ...], *, stable: bool) -> Rule:
    if shares == game.alone:
        return Rule.ALONE
    if stable:
        return Rule.IN_CORE
    return Rule.CAPPED if can_cap(game) else Rule.UNCAPPED


def _shapley(game: CostGame) -> tuple[int, ...] | None:
    if not game.complete or len(game.players) > MOST_FOR_SHAPLEY:
        return None
    return largest_remainder(game.total, [float(own) for own in shapley(game)])


def _reason(game: CostGame, rule: Rule, most: Excess | None) -> str:
    if len(game.players) == 1:
        return "There is nobody to share with."
    groups = "group" if game.complete else "group of those looked at"
    if rule is Rule.ALONE:
        return "Together costs what all cost alone, so each pays just that."
    if rule is Rule.IN_CORE:
        return (
            f"Nobody pays more than alone, and no {groups} would pay less by itself. Of"
            " all such shares these leave the group that gains least the most it can"
            " gain, then the next (the nucleolus)."
        )
    blamed = f"{game.names(most.group)} by itself" if most else "a group"
    if rule is Rule.UNCAPPED:
        return (
            "All together cost more than each alone, so that no shares please everybody:"
            f" {blamed} would pay less. The shares keep the greatest loss of any {groups}"
            " as small as it can be (the nucleolus)."
        )
    whole = _only_whole_units(game)
    why = (
        "No shares in whole units please every group"
        if whole
        else "No shares please every group (the core is empty)"
    )
    return (
        f"{why}: {blamed} would pay less. Nobody pays more than alone, and the shares keep"
        f" the greatest loss of any {groups} as small as it can be (the nucleolus)."
    )


def _only_whole_units(game: CostGame) -> bool:
    """Whether shares in fractions of a unit would please every group."""
    return least_core(game).excess <= EXACT
