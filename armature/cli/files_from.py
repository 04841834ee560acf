"""The option that says where files lie that a commission names."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

FilesFrom = Annotated[
    Path | None,
    typer.Option(help="Folder that the commission's files lie below; that of the commission unless said."),
]
