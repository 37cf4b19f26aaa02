"""Processes of a test's own that need not import the program first: forked from one that has.

The process that they are forked from does nothing else, so none sees what another did.
"""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable
from multiprocessing import forkserver
from multiprocessing.context import ForkServerContext
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent


def processes() -> ForkServerContext:
    """Processes of which each begins as one in which all of the program is imported."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["preloaded"])
    # What it imports first it finds only by the environment that it is started with.
    before = os.environ.get("PYTHONPATH")
    os.environ["PYTHONPATH"] = os.pathsep.join([str(HERE), *([before] if before else [])])
    try:
        forkserver.ensure_running()
    finally:
        if before is None:
            del os.environ["PYTHONPATH"]
        else:
            os.environ["PYTHONPATH"] = before
    return context


def ended(work: Callable[..., object], *given: Any, within: float = 60) -> int | None:
    """How a process ended that did some work: 0, or minus the signal that killed it."""
    process = processes().Process(target=work, args=given)
    process.start()
    process.join(within)
    code = process.exitcode
    process.close()
    return code
