"""Running the tests against mutations: one collection, then a fork for each.

A mutation inside a function takes the place of that function's code in a process whose tests are
collected already. One that runs on import (a table, a default) needs a process that has not imported
the module yet. Neither writes to a file.
"""

from __future__ import annotations

import importlib.abc
import importlib.machinery
import os
import resource
import signal
import sys
import tempfile
import types
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from _pytest.runner import runtestprotocol

from .mutations import Mutation

# A mutation that makes a loop endless is noticed by the time it takes.
SPARE_SECONDS, TIMES, AT_MOST = 2, 4, 300
_FAILED, _FINE = 1, 0
# Where the failure without any mutation is written.
_LOG = "KITTING_MUTATE_LOG"
SETTINGS = (
    "-q", "-n0", "-x", "-p", "no:cacheprovider", "-k", "not postgresql", "--no-header",
    "-W", "ignore::pytest.PytestAssertRewriteWarning",
)  # fmt: skip


def forked(work: Callable[[], int], seconds: int = AT_MOST) -> tuple[int | None, float]:
    """What some work in a process of its own answered (None: it was killed), and its CPU time."""
    sys.stdout.flush()
    child = os.fork()
    if child == 0:
        _be_child(work, seconds)
    _, status, used = os.wait4(child, 0)
    code = os.waitstatus_to_exitcode(status)
    return (code if code >= 0 else None), used.ru_utime + used.ru_stime


def _be_child(work: Callable[[], int], seconds: int) -> None:
    code = _FAILED
    try:
        signal.alarm(AT_MOST)
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
        silence = os.open(os.devnull, os.O_WRONLY)
        os.dup2(silence, 1)
        os.dup2(silence, 2)
        code = work()
    finally:
        os._exit(code)


class Fork:
    """A pytest plugin that runs what was collected once for each mutation, in a fork."""

    def __init__(self, module: str, asked: Sequence[Mutation], answer: Callable[[int, bool], None]):
        self.module, self.asked, self.answer = module, asked, answer
        self.limit = AT_MOST

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        code, used = forked(lambda: _run(session, told=True))
        if code != _FINE:
            session.testsfailed = 1
            return True
        self.limit = int(TIMES * used) + SPARE_SECONDS
        for number, mutation in enumerate(self.asked):
            code, _ = forked(lambda one=mutation: self._mutated(session, one), self.limit)  # type: ignore[misc]
            self.answer(number, code == _FINE)
        return True

    def _mutated(self, session: pytest.Session, mutation: Mutation) -> int:
        assert mutation.inside is not None
        exchange(sys.modules[self.module], mutation.inside, mutation.code)
        return _run(session)


def _run(session: pytest.Session, told: bool = False) -> int:
    """Run the tests until one fails; tell which if that is asked for."""
    code = _FINE
    for number, item in enumerate(session.items):
        following = session.items[number + 1] if number + 1 < len(session.items) else None
        reports = runtestprotocol(item, nextitem=following, log=False)
        if failed := [report for report in reports if report.failed]:
            code = _FAILED
            if told:
                with Path(os.environ[_LOG]).open("a", encoding="utf-8") as log:
                    log.write(f"{item.nodeid}\n{failed[0].longreprtext}\n")
            break
    session._setupstate.teardown_exact(None)
    return code


def exchange(module: types.ModuleType, inside: str, code: str) -> None:
    """Give a function of a module the code that it has in a mutated text."""
    wanted = {one.co_qualname: one for one in _codes(compile(code, str(module.__file__), "exec"))}[
        inside
    ]
    owner: Any = module
    *path, name = inside.split(".")
    for part in path:
        owner = getattr(owner, part)
    for function in _functions(vars(owner)[name]):
        function.__code__ = wanted


def _codes(code: types.CodeType) -> Iterator[types.CodeType]:
    for constant in code.co_consts:
        if isinstance(constant, types.CodeType):
            yield constant
            yield from _codes(constant)


def _functions(found: Any) -> Iterator[Any]:
    """The function beneath what decorators made of it."""
    for name in ("__func__", "fget", "func", "__wrapped__"):
        if (beneath := getattr(found, name, None)) is not None:
            yield from _functions(beneath)
            return
    yield found


class _Mutated(importlib.abc.MetaPathFinder, importlib.abc.SourceLoader):
    """Gives one module another text."""

    def __init__(self, module: str, path: Path, code: str) -> None:
        self.module, self.path, self.code = module, path, code

    def find_spec(self, name: str, path: Any = None, target: Any = None) -> Any:
        if name != self.module:
            return None
        return importlib.machinery.ModuleSpec(name, self, origin=str(self.path))

    def get_filename(self, fullname: str) -> str:
        return str(self.path)

    def get_data(self, path: str | bytes) -> bytes:
        return self.code.encode()


def survivors(
    module: str, path: Path, asked: Sequence[Mutation], tests: Sequence[Path]
) -> list[Mutation]:
    """The mutations that no test noticed; raises RuntimeError when tests fail without any."""
    inside = [one for one in asked if one.inside is not None]
    outside = [one for one in asked if one.inside is None]
    arguments = [*SETTINGS, *map(str, tests)]
    reading, writing = os.pipe()
    with tempfile.NamedTemporaryFile(delete=False) as log:
        os.environ[_LOG] = log.name

    def answer(number: int, survived: bool) -> None:
        os.write(writing, b"%d %d\n" % (number, survived))

    child = os.fork()
    if child == 0:
        os.close(reading)
        log_file = os.open(os.environ[_LOG], os.O_WRONLY | os.O_APPEND)
        os.dup2(log_file, 1)
        os.dup2(log_file, 2)
        code = _FAILED
        try:
            code = pytest.main(arguments, plugins=[Fork(module, inside, answer)])
        finally:
            os._exit(code)
    os.close(writing)
    lived = []
    with os.fdopen(reading) as answers:
        for line in answers:
            number, survived = map(int, line.split())
            if survived:
                lived.append(inside[number])
    _, status = os.waitpid(child, 0)
    if os.waitstatus_to_exitcode(status) != _FINE:
        told_why = Path(os.environ[_LOG]).read_text(encoding="utf-8")
        raise RuntimeError(f"{told_why}\n{module}: its tests fail without any mutation. Mend them")
    for one in outside:

        def work(one: Mutation = one) -> int:
            sys.meta_path.insert(0, _Mutated(module, path, one.code))
            return pytest.main(arguments)

        code, _ = forked(work)
        if code == _FINE:
            lived.append(one)
    return sorted(lived, key=lambda mutation: (mutation.line, mutation.became))
