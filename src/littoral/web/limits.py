"""Every limit of the page, by name. Each has a test one over it."""

MAX_BODY_BYTES = 64 * 1024
"""A request's whole body. A form is a few lines of text; photos do not come in through the page yet."""

MAX_POOL_BYTES = 16 * 1024 * 1024
"""The whole form that pools several keepers' files. It is held in memory."""

MAX_POOL_FILES = 62
"""The files of that form: as many keepers as are pooled at once, and two moderators."""

MAX_POOL_FIELDS = 16
"""The plain fields beside them."""

MAX_LENGTH_DIGITS = 12
"""The digits of a Content-Length: more are too large whatever they say."""

MAX_TARGET_BYTES = 8192
"""The path and query of a request; a sheet of mixing and feeding keeps all that is written in it there."""

MAX_FIELDS = 400
"""The fields of one form: a week of many bottles has the most."""

MAX_UPLOAD_BYTES = 6 * 1024 * 1024
"""A form that brings a table of past records: the table's own limit (5,000,000 bytes) and what is around it."""

MAX_UPLOAD_FIELDS = 40
"""The fields of such a form, beside its one file."""

BODY_PATIENCE_S = 30.0
"""How long a form may take to arrive."""

MAX_PHOTO_BYTES = 20 * 1024 * 1024
"""One photo sent from a phone; those of 200 megapixels are imported from a folder."""

MAX_INTAKE_BYTES = 48 * 1024 * 1024
"""One photo of many that are taken in; larger ones are taken in by `littoral photos add`."""

PHOTO_PATIENCE_S = 180.0
"""How long a photo may take to arrive over a weak radio."""

MAX_RANGE_CHARS = 64
"""A Range header, of one range."""

MAX_TITLE_CHARS = 120
"""The title of a trial started in the browser."""

MAX_AMOUNT_CHARS = 32
"""What is read of an amount in a what-if: a longer number is none that anybody doses."""

QUICK_ANSWER_S = 3.0
"""How long a request for a trial waits for its numbers before it shows the waiting page instead."""
