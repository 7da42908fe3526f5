"""Sixty texts that a name may be and that would do harm where a text is taken for more than a text.

Control characters and signs that turn the direction of writing are refused before (a test of names holds
that), so here stand those that get in.
"""

from __future__ import annotations

# Markup and scripts.
_MARKUP = (
    "<script>alert(1)</script>", "</script><script>alert(1)</script>", "<img src=x onerror=alert(1)>",
    "\"><svg onload=alert(1)>", "'><b onmouseover=alert(1)>", "<!-- -->--><i>x</i>", "]]><x>",
    "</title><script>alert(1)</script>", "</td></tr></table><h1>x</h1>", "<a href=javascript:alert(1)>x</a>",
    "javascript:alert(1)", "&lt;b&gt;", "&amp;lt;script&amp;gt;", "&#60;script&#62;", "&#x3c;b&#x3e;",
    "&nbsp;",
    "<style>*{display:none}</style>", "<base href=//evil.example>", "<meta http-equiv=refresh content=0>",
    "</svg><script>alert(1)</script>", "<title>x</title>", "<bdo dir=rtl>x</bdo>", "<plaintext>",
    "＜script＞alert(1)＜/script＞",
)  # fmt: skip
# Syntax of templates and of the typesetter.
_SYNTAX = (
    "{{7*7}}", "{% raw %}", "{# x #}", "${7*7}", "#{7*7}", "{number}", "{0.__class__}", "%s%n", "%(x)s",
    "#panic(\"x\")", "#read(\"/etc/passwd\")", "*a* _b_ `c`", "$ x^2 $", "= Heading", "- item", "+ item",
    "@label <label>", "\\u{1F600}", "// comment", "/* comment */", "#let x = 1; #x", "[a](b)", "~ -- --- ...",
    "\\ \\# \\\\",
)  # fmt: skip
# Formulas, calendars, headers, paths, and writing from right to left.
_OTHERS = (
    "=1+2+cmd|' /C calc'!A0", "@SUM(1)", "\\r\\nBEGIN:VEVENT", "\\nEND:VCALENDAR\\n", "a;b,c:d\"e",
    "%0d%0aSet-Cookie: x=1", "X:1\\;Y\\,Z", "../../etc/passwd", "'; DROP TABLE quote; --",
    "מלח ים <b>1</b> 2", "ملح البحر (1) [2]", "Zero\u200bwidth\u00ad and\u00a0space",
)  # fmt: skip
HOSTILE = (*_MARKUP, *_SYNTAX, *_OTHERS)
