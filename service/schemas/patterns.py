"""Text patterns, in the part of regular expressions that Python, Rust and ECMA-262 read alike.

All are ASCII and linear, and match the whole text: no blanks, no exponents, no other digits.
"""

from __future__ import annotations

_WHOLE = "(?:0|[1-9][0-9]{0,11})"

SIGNED = rf"^-?{_WHOLE}(?:\.[0-9]{{1,6}})?$"
UNSIGNED = rf"^{_WHOLE}(?:\.[0-9]{{1,6}})?$"
RATE = rf"^{_WHOLE}(?:\.[0-9]{{1,12}})?$"
PART = rf"^(?:{_WHOLE}(?:\.[0-9]{{1,6}})?|(?:0|[1-9][0-9]{{0,5}})/[1-9][0-9]{{0,5}})$"

# A day that exists, from 2000-01-01 to 2100-12-31; 2100 is no leap year.
_DAY_OF_MONTH = (
    "(?:(?:0[13578]|1[02])-(?:0[1-9]|[12][0-9]|3[01])"
    "|(?:0[469]|11)-(?:0[1-9]|[12][0-9]|30)"
    "|02-(?:0[1-9]|1[0-9]|2[0-8]))"
)
DAY = rf"^(?:(?:20[0-9]{{2}}|2100)-{_DAY_OF_MONTH}|20(?:[02468][048]|[13579][26])-02-29)$"
# The same from 1999 on, when the euro began.
EURO_DAY = DAY.replace("(?:20[0-9]{2}", "(?:1999|20[0-9]{2}", 1)
CLOCK = "^(?:[01][0-9]|2[0-3]):[0-5][0-9]$"
DURATION = "^P(?:[1-9][0-9]{0,4}D|[1-9][0-9]{0,3}W|[1-9][0-9]{0,2}M|[1-9][0-9]{0,1}Y(?:[1-9][0-9]{0,2}M)?)$"

REF = "^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$"
CURRENCY = "^[A-Z]{3}$"
COUNTRY = "^[A-Z]{2}$"
ZONE = r"^[A-Za-z][A-Za-z0-9_+\-/]{0,63}$"
# No control characters and nothing that turns the direction of writing.
TEXT = r"^[^\u0000-\u001f\u007f-\u009f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069]*$"
# The same, with something in it: it does not begin with a blank.
NAMED = r"^[^\s" + TEXT[3:-3] + "]" + TEXT[1:]

# An origin as browsers send it (RFC 6454, 6.2): lower case, international names as xn--, the usual port
# left out. Without TLS only the user's own machine.
_LABEL = "[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?"
_LONG_PORT = "[1-9][0-9]{3}|[1-5][0-9]{4}|6[0-4][0-9]{3}|65[0-4][0-9]{2}|655[0-2][0-9]|6553[0-5]"
_NOT_443 = f"[1-9][0-9]?|[1-35-9][0-9]{{2}}|4[0-35-9][0-9]|44[0-24-9]|{_LONG_PORT}"
_NOT_80 = f"[1-9]|[1-79][0-9]|8[1-9]|[1-9][0-9]{{2}}|{_LONG_PORT}"
ORIGIN = (
    rf"^(?:https://{_LABEL}(?:\.{_LABEL})*(?::(?:{_NOT_443}))?"
    rf"|http://(?:localhost|127\.0\.0\.1)(?::(?:{_NOT_80}))?)$"
)
