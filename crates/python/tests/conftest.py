"""Where the command line is, and the plants that both doors judge."""

from __future__ import annotations

import json
import os
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import groundwall
import plant
import pytest

ROOT = Path(__file__).resolve().parents[3]
DEMO = ROOT / "data-demo"
PROGRAM = os.environ.get("GROUNDWALL_PROGRAM", str(ROOT / "target" / "release" / "groundwall"))

Run = Callable[..., bytes]


@pytest.fixture(scope="session")
def command() -> Run:
    """Runs the command line and gives what it prints."""

    def run(*args: object, status: int = 0) -> bytes:
        environment = {name: value for name, value in os.environ.items() if not name.startswith("GROUNDWALL_")}
        done = subprocess.run([PROGRAM, *map(str, args)], capture_output=True, check=False, env=environment)
        assert done.returncode == status, done.stderr.decode()
        return done.stdout if status == 0 else done.stderr

    return run


@pytest.fixture(scope="session")
def answer(command: Run) -> Callable[..., dict[str, Any]]:
    """Runs the command line and reads its JSON."""

    def run(*args: object) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(command(*args, "--format", "json"))
        return found

    return run


@pytest.fixture(scope="session")
def random_plant(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """The files of a random plant of some 2,500 series."""
    folder = tmp_path_factory.mktemp("plant")
    history, register = plant.make(2100, 20261128)
    (folder / "history.csv").write_bytes(history)
    (folder / "register.csv").write_bytes(register)
    return folder / "history.csv", folder / "register.csv"


@pytest.fixture(scope="session")
def random_plant_judged(command: Run, random_plant: tuple[Path, Path]) -> tuple[groundwall.Assessment, bytes]:
    """The random plant judged by its paths, and the command line's CSV of it."""
    history, register = random_plant
    args = ("--register", register, "--as-of", plant.AS_OF, "--no-config", "--format", "csv")
    return groundwall.assess(history, register, as_of=plant.AS_OF), command("assess", history, *args)
