"""Compiles the catalogues whenever the distribution is built or installed editable."""

import runpy
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class CatalogueHook(BuildHookInterface):
    """Runs before files are collected, so that what it makes is among them."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Compile."""
        del version, build_data
        runpy.run_path(str(Path(self.root) / ".ci" / "catalogues.py"))["compile_all"]()
