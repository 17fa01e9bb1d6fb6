"""Tables of the haul engine. Masses are whole kg, money whole minor currency units.

The constraints say what no row may ever claim, whoever wrote it; services say it first,
with words a person can act on.
"""

from __future__ import annotations

from logistics.models.fleet import Place, Truck
from logistics.models.plans import (
    CostLine,
    Haul,
    Load,
    Plan,
    Shift,
    Stop,
    Trip,
    UnplannedHaul,
)
from logistics.models.tickets import Ticket

__all__ = [
    "CostLine",
    "Haul",
    "Load",
    "Place",
    "Plan",
    "Shift",
    "Stop",
    "Ticket",
    "Trip",
    "Truck",
    "UnplannedHaul",
]
