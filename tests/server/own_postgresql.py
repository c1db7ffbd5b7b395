"""A PostgreSQL of the tests' own: made in a temporary folder, reached by a socket there, gone afterwards."""

from __future__ import annotations

import ctypes
import getpass
import os
import pwd
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

# What is not kept need not be safe: no waiting for the disk, small memory, nothing beyond the socket.
SETTINGS = {
    "fsync": "off", "full_page_writes": "off", "synchronous_commit": "on", "listen_addresses": "",
    "shared_buffers": "32MB", "max_connections": "40", "autovacuum": "off",
}  # fmt: skip

PR_SET_PDEATHSIG = 1  # of linux/prctl.h


def why_not() -> str | None:
    """Return why none can be started here, None where one can."""
    try:
        import psycopg  # noqa: F401
    except ImportError:
        return "psycopg is not installed: pip install 'leadline[postgresql]'"
    if programs() is None:
        return "PostgreSQL is not installed: apt-get install postgresql"
    return None


def programs() -> Path | None:
    """Return the folder of PostgreSQL's programs, of the newest where there are several."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    on_path = shutil.which("initdb")
    return found[-1].parent if found else Path(on_path).parent if on_path else None


def _user() -> str | None:
    """PostgreSQL does not run as root; another user is given the folder then."""
    if os.geteuid():
        return None
    names = {entry.pw_name for entry in pwd.getpwall()}
    return "postgres" if "postgres" in names else "nobody"


@contextmanager
def own_postgresql(**settings: str) -> Iterator[str]:
    """Yield the address of a server that lasts as long as the block."""
    programs_folder, user = programs(), _user()
    folder = Path(tempfile.mkdtemp(prefix="leadline-pg-", dir="/tmp"))  # a socket's path must be short
    try:
        if user:
            shutil.chown(folder, user)
        data, name = folder / "data", user or getpass.getuser()
        told = [
            "--no-sync",
            "--auth=trust",
            "--encoding=UTF8",
            "--locale=C",
            "--no-instructions",
            f"-U{name}",
        ]
        initdb = [str(programs_folder / "initdb"), *told, "-D", str(data)]
        subprocess.run(initdb, user=user, cwd=folder, check=True, capture_output=True)
        given = {**SETTINGS, **settings, "unix_socket_directories": str(folder)}
        options = [f"-c{key}={value}" for key, value in given.items()]
        command = [str(programs_folder / "postgres"), "-D", str(data), *options]
        with (folder / "log").open("wb") as log:
            server = subprocess.Popen(
                command, user=user, cwd=folder, stdout=log, stderr=log, preexec_fn=_end_with_the_session
            )
        try:
            address = f"postgresql:///postgres?host={folder}&user={name}"
            _wait_for(address, server, folder / "log")
            yield address
        finally:
            server.send_signal(signal.SIGQUIT)  # at once: nothing of it is kept
            server.wait(30)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _end_with_the_session() -> None:
    """Let the system end the server where the tests are killed and cannot."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGQUIT)


def _wait_for(address: str, server: subprocess.Popen[bytes], log: Path) -> None:
    import psycopg

    while server.poll() is None:
        try:
            psycopg.connect(address, connect_timeout=5).close()
        except psycopg.OperationalError:
            time.sleep(0.02)
        else:
            return
    raise RuntimeError(log.read_text())
