"""A game whose groups are costly to reckon: group after group, where it matters most.

Row generation on the nucleolus: shares are made from the groups known so far, then the
group is reckoned whose members gain least by them, and so on. With all candidates reckoned
the shares are those of the whole game over them; ended before, they are fair as far as the
groups looked at can tell, which is what the answer must say.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from logistics.domain.sharing.games import CostGame, members
from logistics.domain.sharing.nucleolus import nucleolus


def grown(
    game: CostGame,
    candidates: Iterable[int],
    cost_of: Callable[[int], int],
    most: int,
) -> CostGame:
    """The game with up to `most` more of the candidate groups reckoned by `cost_of`."""
    left = sorted(set(candidates) - set(game.costs))
    for _ in range(most):
        if not left:
            break
        group = _next(game, left)
        left.remove(group)
        game = CostGame(game.players, {**game.costs, group: cost_of(group)})
    return game


def _next(game: CostGame, left: Sequence[int]) -> int:
    """The group whose members together pay least below their own costs."""
    gains = [
        alone - share for alone, share in zip(game.alone, nucleolus(game), strict=True)
    ]
    return min(left, key=lambda own: (sum(gains[i] for i in members(own)), own))
