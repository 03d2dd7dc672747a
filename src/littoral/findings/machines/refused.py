"""Why work could not be done on other machines: one class per reason."""

from __future__ import annotations

from littoral.errors import LittoralError

AGAIN = "What was done so far is kept: the same command goes on from there."


class MachinesError(LittoralError):
    """Work on other machines was refused or broke off; the subclass says why."""


class NoAddressError(MachinesError):
    """`text` names no place to work at."""

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__(
            f"{text!r} is no place to work at. Write how many photos at a time on this computer (4), or the address of "
            f"a Dask scheduler (tcp://127.0.0.1:8786, tls://bench.example:8786)."
        )


class OpenToOthersError(MachinesError):
    """The scheduler at `address` would be spoken to over a network without TLS."""

    def __init__(self, address: str) -> None:
        self.address = address
        super().__init__(
            f"{address} is another computer, spoken to without TLS: whoever can reach that port can run programs on "
            f"its workers. Use tls:// with certificates, or a tunnel that ends at 127.0.0.1. In a network where you "
            f"trust every machine, --unprotected allows it."
        )


class NoSchedulerError(MachinesError):
    """No scheduler answered at `address`."""

    def __init__(self, address: str, why: str) -> None:
        self.address, self.why = address, why
        super().__init__(
            f"No Dask scheduler answers at {address} ({why}). Start it there (dask scheduler), and its workers "
            f"(dask worker {address})."
        )


class NoWorkersError(MachinesError):
    """The scheduler at `address` has had no worker for `seconds`."""

    def __init__(self, address: str, seconds: float) -> None:
        self.address, self.seconds = address, seconds
        super().__init__(
            f"The scheduler at {address} has had no worker for {seconds:g} s. Start one: dask worker {address}. {AGAIN}"
        )


class SchedulerGoneError(MachinesError):
    """The scheduler at `address` answered, and then was gone."""

    def __init__(self, address: str) -> None:
        self.address = address
        super().__init__(f"The scheduler at {address} is gone in the middle of the work. {AGAIN}")


class WorkersKilledError(MachinesError):
    """One workers after another ended while it worked on `what`."""

    def __init__(self, what: str, tries: int) -> None:
        self.what, self.tries = what, tries
        super().__init__(
            f"{tries} workers ended, one after another, while they worked on {what}. See whether they have memory "
            f"enough (about 500 MB each). {AGAIN}"
        )


class OtherVersionsError(MachinesError):
    """A worker runs other versions than this computer, so its numbers could differ."""

    def __init__(self, here: str, there: str) -> None:
        self.here, self.there = here, there
        super().__init__(
            f"A worker runs other versions than this computer, so its numbers could differ. Here: {here}. There: "
            f"{there}. Install the same versions on both."
        )

    def __reduce__(self) -> tuple[type[OtherVersionsError], tuple[str, str]]:
        return OtherVersionsError, (self.here, self.there)  # it comes back from another process


class PhotoAwayError(MachinesError):
    """The photo at `address` cannot be read, or is not the one it should be."""

    def __init__(self, address: str, why: str) -> None:
        self.address, self.why = address, why
        super().__init__(f"{address} cannot be used: {why}. Copy the logbook's folder `originals` there. {AGAIN}")

    def __reduce__(self) -> tuple[type[PhotoAwayError], tuple[str, str]]:
        return PhotoAwayError, (self.address, self.why)  # it comes back from another process
