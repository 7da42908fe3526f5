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
CLOCK = "^(?:[01][0-9]|2[0-3]):[0-5][0-9]$"
DURATION = "^P(?:[1-9][0-9]{0,4}D|[1-9][0-9]{0,3}W|[1-9][0-9]{0,2}M|[1-9][0-9]{0,1}Y(?:[1-9][0-9]{0,2}M)?)$"

REF = "^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$"
CURRENCY = "^[A-Z]{3}$"
COUNTRY = "^[A-Z]{2}$"
ZONE = r"^[A-Za-z][A-Za-z0-9_+\-/]{0,63}$"
# No control characters and nothing that turns the direction of writing.
TEXT = r"^[^\u0000-\u001f\u007f-\u009f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069]*$"
