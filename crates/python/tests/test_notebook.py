"""The notebook runs from its first cell to its last, without any other file than its own plant's."""

from __future__ import annotations

from pathlib import Path

import nbclient
import nbformat
from conftest import DEMO

NOTEBOOK = Path(__file__).resolve().parents[1] / "notebook" / "afternoon.ipynb"


def test_the_afternoon_of_a_planner() -> None:
    notebook = nbformat.read(NOTEBOOK, as_version=4)
    nbclient.NotebookClient(notebook, timeout=300, kernel_name="python3", resources={"metadata": {"path": str(DEMO)}}).execute()
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    pictures = [output for cell in code for output in cell.outputs if "image/svg+xml" in output.get("data", {})]
    assert len(pictures) == 2 and all(cell.outputs for cell in code[1:])
    # It is kept without results.
    assert all(not cell.get("outputs") for cell in nbformat.read(NOTEBOOK, as_version=4).cells)
