"""Every limit of access, by name. Each has a test one over it."""

CODE_LASTS_S = 300.0
"""How long a pairing code can be used, once."""

CODE_CHARS = 8
"""Characters of a code, out of 31: about 40 bits."""

MAX_OPEN_CODES = 4
"""Codes that can be open at once; a further one closes the oldest."""

TRIES_PER_MINUTE = 5
"""Wrong codes from one address within a minute."""

TRIES_IN_ALL = 20
"""Wrong codes from anywhere before every open code is closed: at 40 bits a guess then hits once in fifty thousand
million."""

MAX_ADDRESSES = 1_000
"""Addresses whose wrong codes are remembered; the one that tried longest ago is forgotten first."""

COOKIE_LASTS_S = 400 * 24 * 3600
"""How long a paired device is known without pairing again; browsers keep no cookie longer (RFC 6265bis, 5.5)."""
