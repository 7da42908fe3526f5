"""Odd texts: names with their verdicts, ids, words that are patterns or SQL, members not to be sent."""

from __future__ import annotations

FINE, WRONG, NOT_JSON = 201, 422, 400
# No name to find a thing by; right where the name may be left out.
BLANK = 0

# A name, and what becomes of it on either database.
NAMES: list[tuple[str, str, int]] = [
    ("plain", "Salt mix", FINE), ("umlauts", "Größe Ærø", FINE), ("Greek", "Θαλασσινό", FINE),
    ("Arabic", "ملح البحر", FINE), ("Hebrew", "מלח ים", FINE), ("Chinese", "海水鹽", FINE),
    ("Thai with marks", "เกลือทะเล", FINE), ("Devanagari", "समुद्री नमक", FINE),
    ("beyond the plane", "𝕊alt", FINE), ("emoji", "🐠", FINE), ("emoji of several", "👩\u200d🔬", FINE),
    ("flag", "🇬🇧", FINE), ("skin", "👋🏽", FINE), ("decomposed", "Gro\u0308ße", FINE),
    ("Hangul parts", "\u1112\u1161\u11ab", FINE), ("ligature", "ﬁsh", FINE), ("full width", "Ｓａｌｔ", FINE),
    ("angstrom sign", "\u212b", FINE), ("dotted capital i", "İ", FINE), ("sharp s", "ẞ", FINE),
    ("final sigma", "Σίσυφος", FINE), ("Zalgo", "s" + "\u0301" * 40, FINE),
    ("no-break space inside", "a\u00a0b", FINE), ("soft hyphen", "a\u00adb", FINE),
    ("zero width", "a\u200bb", FINE), ("private use", "\ue000", FINE), ("noncharacter", "a\uffffb", FINE),
    ("replacement", "\ufffd", FINE), ("last code point", "a\U0010ffff", FINE),
    ("byte order mark inside", "a\ufeffb", FINE), ("quotes", "O'Brien's \"best\"", FINE),
    ("backslash", "a\\b\\", FINE), ("percent", "100%_", FINE), ("SQL", "'; DROP TABLE product; --", FINE),
    ("markup", "<script>alert(1)</script>", FINE), ("template", "{{7*7}}${7*7}%s%n", FINE),
    ("formula", "=1+1", FINE), ("a path", "../../etc/passwd", FINE), ("null word", "null", FINE),
    ("at the limit", "x" * 200, FINE), ("long in bytes", "🐠" * 200, FINE),
    ("over the limit", "x" * 201, WRONG), ("empty", "", BLANK), ("blank first", " a", BLANK),
    ("only a no-break space", "\u00a0", BLANK), ("NUL", "a\x00b", NOT_JSON), ("line feed", "a\nb", WRONG),
    ("carriage return", "a\r\nb", WRONG), ("tab", "a\tb", WRONG), ("escape", "a\x1b[31m", WRONG),
    ("delete", "a\x7f", WRONG), ("C1 control", "a\x85b", WRONG), ("turned writing", "a\u202eb", WRONG),
    ("isolate", "a\u2066b", WRONG), ("mark of direction", "a\u200fb", WRONG),
    ("line separator", "a\u2028b", WRONG), ("lone surrogate", "a\ud800b", NOT_JSON),
    ("turned pair", "\udc00\ud800", NOT_JSON),
]  # fmt: skip

ODD_IDS = [
    "%00", "%01", "a%00b", "%ff", "%ed%a0%80", "%0d%0aX-Evil:%201", "%0A", "'", "%27%20OR%201=1--", "%25",
    "_%25", "%5C", "..", "%2e%2e", "..%5c", "%E2%80%AE", "%F0%9F%90%A0", "a" * 300, "0", "-1", "null",
    "%20", "%3Cscript%3E", "{{7*7}}", "%s%n", "prd_00000000000000000000000000", "PRD_1", "%EF%BC%85", "*",
    "~",
]  # fmt: skip

SQL = [
    "'", "''", "\"", "`", ";", "--", "' --", "/*", "*/", "' OR '1'='1", "' OR 1=1 --", "\" OR \"\"=\"",
    "') OR ('1'='1", "'; DROP TABLE product; --", "' UNION SELECT id, body FROM setup --",
    "' UNION SELECT NULL, NULL, NULL --", "1; SELECT pg_sleep(5)", "' || (SELECT secret FROM api_key) || '",
    "\\' OR 1=1 --", "%27", "$1", ":words", "?", "%(words)s", "{words}",
    "' AND 1=CAST((SELECT version()) AS int) --", "' || load_extension('x') || '", "' ESCAPE 'x", "\\",
    "\\\\'",
]  # fmt: skip

PATTERNS = [
    "50% off", "5_0", "50 x", "500", "back\\slash", "back%slash", "a_b", "axb", "%", "_", "\\", "[a-z]",
    "*",
]  # fmt: skip

OWN = [
    "id", "version", "created_at", "changed_at", "account", "account_id", "tenant", "recorded_at",
    "in_force", "deleted_at", "status", "number", "digest", "total", "issued_at", "issued", "engine",
    "engine_version", "superseded_by", "expired", "document", "revoked_at", "last_used_on", "shown_as",
    "key", "secret", "token", "url", "created", "folded", "body", "cursor_key",
]  # fmt: skip
