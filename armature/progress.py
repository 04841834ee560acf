"""A progress bar for work that takes over a second; silent where nobody watches."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Told = Callable[[str, float], None]


@contextmanager
def progress(title: str) -> Iterator[Told]:
    """Yield a function that hears what is being done and the share done, 0 to 1, and shows it on a terminal."""
    if not sys.stderr.isatty():
        yield lambda _what, _share: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.fields[what]:<12}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(title, total=1.0, what="")
        yield lambda what, share: bar.update(task, what=what, completed=share)
