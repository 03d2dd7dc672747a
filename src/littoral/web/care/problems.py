"""What went wrong, as data (RFC 9457, problem details) and as a status: one shape for every address of the API."""

from __future__ import annotations

from typing import Any

from starlette.responses import JSONResponse

from littoral.acts.change_entry import NotCorrectableError
from littoral.acts.choosing import WhichTrialError
from littoral.acts.photos.decide_photos import NoPhotoError
from littoral.acts.record_planned import AnsweredAlreadyError
from littoral.acts.see_entries import entry_json
from littoral.acts.see_today import NoTankError
from littoral.errors import Fault, FaultsError, LittoralError
from littoral.logbook.changed_entries import AlreadyRecordedError, NoEntryError, SupersededError
from littoral.logbook.database import RefusedByDatabaseError, RefusedByServerError
from littoral.logbook.refused import NoTrialError
from littoral.web.access.roles import NotAllowedError, NotYoursError

PROBLEM = "application/problem+json"
KINDS = {
    "not json": 400,
    "refused": 403,
    "not allowed": 403,
    "not there": 404,
    "answered already": 409,
    "changed meanwhile": 409,
    "id taken": 409,
    "cannot be corrected": 409,
    "not possible": 409,
    "faults": 422,
    "busy": 503,
    "away": 503,
}
"""Every kind of problem and its status."""
TITLES = {
    "not json": "The body is not a JSON object of texts.",
    "refused": "Refused.",
    "not allowed": "Your role does not allow this.",
    "not there": "This is not in the logbook.",
    "answered already": "It is recorded already.",
    "changed meanwhile": "Somebody changed it meanwhile.",
    "id taken": "Another entry has this id.",
    "cannot be corrected": "This cannot be corrected.",
    "not possible": "This cannot be done.",
    "faults": "Some of it cannot be taken as it is written.",
    "busy": "The logbook is busy.",
    "away": "The logbook’s server is away. Not saved.",
}


def problem_of(error: LittoralError) -> tuple[str, dict[str, Any]]:
    """Return the kind of an error and what it carries besides its words."""
    match error:
        case FaultsError():
            return "faults", {"faults": [fault_json(one) for one in error.faults]}
        case AnsweredAlreadyError():
            return "answered already", {"item": error.due.key, "entry": error.entry}
        case SupersededError():
            return "changed meanwhile", {"refused": entry_json(error.refused), "ahead": entry_json(error.ahead)}
        case AlreadyRecordedError():
            return "id taken", {"there": entry_json(error.there), "again": entry_json(error.refused)}
        case NotCorrectableError():
            return "cannot be corrected", {"entry": entry_json(error.entry)}
        case NoEntryError() | NoTrialError() | NoTankError() | NoPhotoError():
            return "not there", {}
        case WhichTrialError():
            known = (
                f"The trials are {', '.join(error.known)}." if error.known else "There is none yet: /start begins one."
            )
            fault = Fault("is not said.", known, "trial")
            return "faults", {"faults": [fault_json(fault)]}
        case RefusedByDatabaseError() if error.code.startswith(("SQLITE_BUSY", "55P03", "53300")):
            return "busy", {}
        case RefusedByServerError() if error.away:
            return "away", {}
        case NotAllowedError() | NotYoursError():
            return "not allowed", {}
        case _:
            return "not possible", {}


def problem(kind: str, detail: str, **more: Any) -> JSONResponse:
    """Return a problem as an answer."""
    status = KINDS[kind]
    body = {"title": TITLES[kind], "status": status, "detail": detail, "kind": kind, **more}
    headers = {"cache-control": "no-store", **({"retry-after": "2"} if kind in ("busy", "away") else {})}
    return JSONResponse(body, status, media_type=PROBLEM, headers=headers)


def fault_json(fault: Fault) -> dict[str, str]:
    """Return a fault as plain data: the field, what is wrong there, what would do."""
    return {"where": fault.where, "what": fault.what, "right": fault.right}
