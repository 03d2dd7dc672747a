"""A real PostgreSQL server of one's own: started from Debian's package, in a temporary folder, on a Unix socket."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

PASSWORD = "a p@ss/word:that?must&not show"
USER = "keeper"


def programs() -> Path | None:
    """Return the folder of the newest PostgreSQL server's programs, None where the package is absent."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    return found[-1].parent if found else None


@dataclass
class Server:
    """A server that runs; `fresh` makes an empty database and gives its address."""

    bin: Path
    folder: Path
    as_user: tuple[str, ...]
    durable: bool
    made: int = 0
    pattern: str = ""

    def run(self, program: str, *arguments: str) -> None:
        done = subprocess.run(
            [*self.as_user, str(self.bin / program), *arguments], capture_output=True, cwd=self.folder, check=False
        )
        if done.returncode:
            log = self.folder / "log"
            said = log.read_text()[-2000:] if log.exists() else ""
            raise RuntimeError(f"{program}: {done.stderr.decode()} {done.stdout.decode()} {said}")

    def start(self) -> None:
        """Start it and wait until it answers; pg_ctl itself waits by asking."""
        fsync = "on" if self.durable else "off"
        asked = f"-c listen_addresses= -k {self.folder} -c fsync={fsync} -c full_page_writes={fsync}"
        log = str(self.folder / "log")
        self.run("pg_ctl", "start", "-w", "-t", "60", "-D", str(self.data), "-l", log, "-o", asked)

    @property
    def data(self) -> Path:
        return self.folder / "data"

    def kill(self) -> None:
        """Kill every process of the server at once, as when the power goes; returns when none runs any more."""
        first = int((self.data / "postmaster.pid").read_text().split("\n")[0])
        os.kill(first, signal.SIGSTOP)  # it starts no other while these are listed
        killed = [first, *map(int, Path(f"/proc/{first}/task/{first}/children").read_text().split())]
        for process in reversed(killed):
            with suppress(ProcessLookupError):
                os.kill(process, signal.SIGKILL)
        while any(map(_runs, killed)):
            pass
        # In a container nobody may collect the dead, and the server would take its own former self for running
        (self.data / "postmaster.pid").unlink()
        for lock in self.folder.glob(".s.PGSQL.*"):
            lock.unlink()

    def fresh(self) -> str:
        """Make an empty database whose locale does not order text by its bytes, and return its address."""
        self.made += 1
        name = f"bench{self.made}"
        sorting = "LOCALE_PROVIDER icu ICU_LOCALE 'en-US' ENCODING 'UTF8'"
        self.say("postgres", f"CREATE DATABASE {name} TEMPLATE template0 {sorting}")
        return self.address(name)

    def ready(self) -> str:
        """Make a database with a logbook's tables and nothing in them, as a copy of one, and return its address."""
        from littoral.logbook.schema import bring_up_to_date
        from littoral.logbook.server import close_connections, engine_at
        from littoral.logbook.where_kept import address_of

        if not self.pattern:
            engine = engine_at(address_of(self.fresh()))
            bring_up_to_date(engine, self.folder)
            self.pattern = str(engine.url.database)
            close_connections()
        self.made += 1
        name = f"bench{self.made}"
        self.say("postgres", f"CREATE DATABASE {name} TEMPLATE {self.pattern}")
        self.say(name, "UPDATE logbook SET id = gen_random_uuid()::text")
        return self.address(name)

    def address(self, name: str) -> str:
        """Return a database's address, password and all."""
        return f"postgresql+psycopg://{USER}:{quote(PASSWORD, safe='')}@/{name}?host={quote(str(self.folder))}"

    def say(self, database: str, sql: str) -> list[tuple[object, ...]]:
        """Run a statement as the server's owner and return its rows."""
        import psycopg

        with psycopg.connect(
            host=str(self.folder), user=USER, password=PASSWORD, dbname=database, autocommit=True
        ) as connection:
            done = connection.execute(sql)
            return done.fetchall() if done.description else []


def _runs(process: int) -> bool:
    try:
        state = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0]
    except (FileNotFoundError, ProcessLookupError):
        return False
    return state not in ("Z", "X")


@contextmanager
def serving(*, durable: bool) -> Iterator[Server]:
    """Run a server; RuntimeError where the package is absent. It refuses to run as root, so another user runs it."""
    found = programs()
    if found is None:
        raise RuntimeError("Debian's package postgresql is not installed")
    folder = Path(tempfile.mkdtemp(prefix="littoral-pg-"))
    as_user: tuple[str, ...] = ()
    if os.geteuid() == 0:
        known = {entry.pw_name for entry in pwd.getpwall()}
        user = pwd.getpwnam("postgres" if "postgres" in known else "nobody")
        os.chown(folder, user.pw_uid, user.pw_gid)
        as_user = ("setpriv", f"--reuid={user.pw_uid}", f"--regid={user.pw_gid}", "--clear-groups")
    folder.chmod(0o755)
    server = Server(found, folder, as_user, durable)
    try:
        secret = folder / "password"
        secret.write_text(PASSWORD)
        asked = ("-A", "scram-sha-256", f"--pwfile={secret}", "-E", "UTF8", "--locale=C.UTF-8", "-N")
        server.run("initdb", "-D", str(server.data), "-U", USER, *asked)
        server.start()
        try:
            yield server
        finally:
            server.kill()
    finally:
        shutil.rmtree(folder, ignore_errors=True)
