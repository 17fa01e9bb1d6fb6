"""Arrays in files of their own, mapped into memory when they are read."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

from logistics.domain.roads.arrays import dtypes_of
from logistics.domain.roads.hierarchy import HierarchyArrays
from logistics.domain.roads.network import Keep, Made
from logistics.domain.roads.views import ViewArrays

_LENGTHS = "lengths.json"
T = TypeVar("T")


def save_arrays(folder: Path, arrays: object) -> None:
    """Write each array of a dataclass into a file with its name."""
    for field in dtypes_of(type(arrays)):
        np.save(folder / f"{field}.npy", getattr(arrays, field))


def lengths_of(arrays: object) -> dict[str, int]:
    """How long each array is, to tell a file that is not what was written."""
    return {field: len(getattr(arrays, field)) for field in dtypes_of(type(arrays))}


def load_arrays(folder: Path, kind: type[T], lengths: dict[str, int]) -> T:
    """The arrays of a dataclass, mapped into memory.

    Raises FileNotFoundError, and ValueError for a file that is not what was written.
    """
    loaded: dict[str, Any] = {}
    for field, dtype in dtypes_of(kind).items():
        array = np.load(folder / f"{field}.npy", mmap_mode="r", allow_pickle=False)
        if array.dtype != dtype or array.shape != (lengths[field],):
            raise ValueError(f"{field}.npy is not what was written")
        # The plain view is a fifth of the cost of a memmap in each small slice.
        loaded[field] = array.view(np.ndarray)
    return kind(**loaded)


def keep_views(folder: Path) -> Keep:
    """Keeps graphs beside the arrays of a network, so that all workers share them.

    A graph that cannot be read is made anew; one that cannot be written is used all the
    same, by this process alone.
    """

    def keep(key: str, make: Callable[[], Made]) -> Made:
        home = folder / f"view-{key}"
        try:
            return _load(home)
        except (FileNotFoundError, ValueError, KeyError, TypeError):
            # There is none yet, or not all of it.
            shutil.rmtree(home, ignore_errors=True)
        made = make()
        try:
            _save(home, made)
            return _load(home)
        except (OSError, ValueError):
            return made

    return keep


def _load(home: Path) -> Made:
    lengths = json.loads((home / _LENGTHS).read_text(encoding="utf-8"))
    return (
        load_arrays(home, ViewArrays, lengths["view"]),
        load_arrays(home / "hierarchy", HierarchyArrays, lengths["hierarchy"]),
    )


def _save(home: Path, made: Made) -> None:
    draft = Path(tempfile.mkdtemp(prefix="draft-", dir=home.parent))
    try:
        draft.chmod(0o755)
        (draft / "hierarchy").mkdir()
        save_arrays(draft, made[0])
        save_arrays(draft / "hierarchy", made[1])
        lengths = {"view": lengths_of(made[0]), "hierarchy": lengths_of(made[1])}
        (draft / _LENGTHS).write_text(json.dumps(lengths), encoding="utf-8")
        # Another worker may have been quicker: then its graph is as good.
        os.rename(draft, home)  # noqa: PTH104 - one atomic step
    finally:
        shutil.rmtree(draft, ignore_errors=True)
