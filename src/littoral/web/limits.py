"""Every limit of the page, by name. Each has a test one over it."""

MAX_BODY_BYTES = 64 * 1024
"""A request's whole body. A form is a few lines of text; photos do not come in through the page yet."""

MAX_UPLOAD_BYTES = 16 * 1024 * 1024
"""The whole body of a form with files; only the addresses in `web.uploads` take one. It is held in memory."""

MAX_UPLOAD_FILES = 62
"""The files of one form: as many keepers as are pooled at once, and two moderators."""

MAX_UPLOAD_FIELDS = 16
"""The plain fields beside them."""

MAX_LENGTH_DIGITS = 12
"""The digits of a Content-Length: more are too large whatever they say."""

MAX_TARGET_BYTES = 8192
"""The path and query of a request; a sheet of mixing and feeding keeps all that is written in it there."""

MAX_FIELDS = 400
"""The fields of one form: a week of many bottles has the most."""

MAX_TITLE_CHARS = 120
"""The title of a trial started in the browser."""

QUICK_ANSWER_S = 3.0
"""How long a request for a trial waits for its numbers before it shows the waiting page instead."""
