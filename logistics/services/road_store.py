"""Road networks on disk: written whole or not at all, opened without reading them."""

from __future__ import annotations

import fcntl
import json
import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict
from functools import lru_cache
from pathlib import Path
from typing import Any

from logistics.domain.errors import Refused, refuse
from logistics.domain.roads.arrays import RoadArrays, inconsistency
from logistics.domain.roads.limits import HeavyVehicle
from logistics.domain.roads.network import Ground, NetworkFacts, RoadNetwork
from logistics.services.array_store import (
    keep_views,
    lengths_of,
    load_arrays,
    save_arrays,
)

FORMAT = 2
_META = "meta.json"
_NAME = re.compile(r"[a-z0-9][a-z0-9_-]{0,39}")
_COMMAND = "manage.py import_roads FILE"


def open_network(root: Path, name: str = "default") -> RoadNetwork:
    """The network of that name under `root`, its arrays mapped into memory.

    Opened once per process and again only after a new import. Raises Refused when there
    is none ("network_missing") or what is there cannot be used ("network_damaged").
    """
    folder = root / checked_name(name)
    try:
        stamp = (folder / _META).stat()
    except OSError as error:
        raise _missing(name) from error
    return _open(folder, stamp.st_mtime_ns, stamp.st_ino)


def checked_name(name: str) -> str:
    """The name, if it can be one. Raises Refused "network_name"."""
    if _NAME.fullmatch(name):
        return name
    raise refuse(
        "network_name",
        field="name",
        given=name,
        message="a network cannot have this name",
        remedy="Use up to 40 small letters, digits, - and _, starting with a letter or digit.",
    )


def save_network(root: Path, name: str, network: RoadNetwork) -> None:
    """Write a network so that readers see the old one or the new one, never a mixture.

    The arrays go into a folder of their own, with the graph for the network's vehicle;
    one rename of the small description that names this folder makes them current. Raises
    Refused when another import of the same name is running.
    """
    folder = root / checked_name(name)
    folder.mkdir(parents=True, exist_ok=True)
    with _alone(folder, name):
        fresh = Path(tempfile.mkdtemp(prefix="arrays-", dir=folder))
        try:
            fresh.chmod(0o755)
            save_arrays(fresh, network.arrays)
            keep_views(fresh)(network.key, lambda: network.graphs)
            meta = {
                "format": FORMAT,
                "arrays": fresh.name,
                "lengths": lengths_of(network.arrays),
                "facts": asdict(network.facts),
            }
            draft = fresh / _META
            draft.write_text(json.dumps(meta, indent=1), encoding="utf-8")
            _to_disk(fresh)
            os.replace(draft, folder / _META)  # noqa: PTH105 - one atomic step
        except BaseException:
            shutil.rmtree(fresh, ignore_errors=True)
            raise
        for old in folder.glob("arrays-*"):
            # Left by the import before, or by one that was killed.
            if old != fresh:
                shutil.rmtree(old, ignore_errors=True)


@contextmanager
def _alone(folder: Path, name: str) -> Iterator[None]:
    with (folder / ".lock").open("w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise refuse(
                "import_running",
                field="name",
                given=name,
                message="another import into this network is running",
                remedy="Wait for it to end, or give another name.",
            ) from error
        yield


def _to_disk(folder: Path) -> None:
    """Make the files survive a power cut before anything points at them."""
    for path in (*folder.iterdir(), folder):
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


# The moment and the inode of the description are part of the key, so that a new import
# is seen; the size keeps the maps of a replaced one from piling up.
@lru_cache(maxsize=4)
def _open(folder: Path, _moment_ns: int, _inode: int) -> RoadNetwork:
    try:
        return _load(folder)
    except FileNotFoundError:
        # A new import may have replaced the arrays between the two reads.
        pass
    try:
        return _load(folder)
    except FileNotFoundError as error:
        raise _damaged(folder, f"{Path(error.filename).name} is missing") from error


def _load(folder: Path) -> RoadNetwork:
    try:
        meta = json.loads((folder / _META).read_text(encoding="utf-8"))
        if meta["format"] != FORMAT:
            raise _damaged(folder, f"it has format {meta['format']}, not {FORMAT}")
        source = folder / str(meta["arrays"])
        arrays = load_arrays(source, RoadArrays, meta["lengths"])
        facts = _facts(meta["facts"])
    except (ValueError, KeyError, TypeError) as error:
        raise _damaged(folder, f"{type(error).__name__}: {error}") from error
    problem = inconsistency(arrays)
    if problem is not None:
        raise _damaged(folder, problem)
    return RoadNetwork(arrays, facts, ground=Ground(arrays, keep_views(source)))


def _facts(stored: dict[str, Any]) -> NetworkFacts:
    return NetworkFacts(**{**stored, "vehicle": HeavyVehicle(**stored["vehicle"])})


def _missing(name: str) -> Refused:
    return refuse(
        "network_missing",
        field="network",
        given=name,
        message="no road network of this name has been imported",
        remedy=f"Import one: {_COMMAND} --name {name}",
    )


def _damaged(folder: Path, what: str) -> Refused:
    return refuse(
        "network_damaged",
        field="network",
        given=folder.name,
        message=f"the stored road network cannot be used: {what}",
        remedy=f"Import it again: {_COMMAND} --name {folder.name}",
    )
