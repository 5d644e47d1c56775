"""The strings: what must never be obeyed, and what must work. Each is named, so that a failing case says which."""

import re
import unicodedata

CONTROLS = [chr(code) for code in (*range(0x20), 0x7F, *range(0x80, 0xA0)) if chr(code) not in "\t\n\r"]
"""Every C0 and C1 control and DEL; tab and line ends have rules of their own."""

HIDDEN = ["\u2028", "\u2029", "\ufeff", "\ufffe", "\uffff"]
"""Line ends that editors do not see, a byte order mark inside, noncharacters."""

TURNING = [chr(code) for code in (*range(0x202A, 0x202F), *range(0x2066, 0x206A))]
"""Embeddings, overrides and isolates, which make text read otherwise than it is."""

MARKS = ["\u200e", "\u200f", "\u061c"]
"""Marks that people who write from right to left type; harmless, but seen by nobody: written out where shown."""

HALVES = ["\ud800", "\udbff", "\udc00", "\udfff"]

REFUSED = CONTROLS + HIDDEN + TURNING
"""Characters that are refused wherever text comes in."""

TERMINAL = {
    "clear screen": "\x1b[2J",
    "eight-bit control sequence": "\x9b31m",
    "hyperlink": "\x1b]8;;http://example.invalid/\x07click\x1b]8;;\x07",
    "clipboard": "\x1b]52;c;cm0gLXJm\x07",
    "device string": '\x1bP$q"p\x1b\\',
    "title": "\x1b]0;owned\x07",
    "backspace": "ok\x08\x08no",
    "carriage return": "shown\rhidden",
}
"""Sequences that a terminal obeys."""

MARKUP = {
    "rich colour": "[red]x[/red]",
    "rich link": "[link=http://example.invalid]x[/link]",
    "rich action": "[@click=app.quit]x[/]",
    "rich close": "[/]",
    "html script": "<script>alert(1)</script>",
    "html image": "<img src=x onerror=alert(1)>",
    "html end": "</text></svg><script>alert(1)</script>",
    "html comment": "--><!--",
    "svg use": '<use href="http://example.invalid/x.svg#a"/>',
    "xml entity": "&lt;b&gt; &#x3c;script&#x3e; &xxe;",
    "xml data": "]]><![CDATA[<b>",
    "attribute end": "\" onmouseover='alert(1)' x=\"",
    "mermaid link": 'x"]; click n1 "javascript:alert(1)"',
    "mermaid directive": "%%{init: {'securityLevel': 'loose'}}%%",
    "markdown link": "[x](javascript:alert(1)) ![x](http://example.invalid/x.png)",
    "template": "${7*7} {{7*7}} {0} %s %n",
    "formula": '=HYPERLINK("http://example.invalid","x")',
    "formula at": "@SUM(1+1)*cmd|'/C calc'!A0",
    "shell": "$(id) `id` ; rm -rf ~ | x && y",
    "backslash": "\\u001b[2J \\x1b \\033",
}
"""Printable text that means something to whoever reads it as more than text. All of it is plain data here."""

WORKS = {
    "arabic": "ذراع سفلي أمامي",
    "hebrew with points": "זְרוֹעַ תַּחְתּוֹנָה",
    "persian joiner": "می\u200cخواهم",
    "hindi": "निचली भुजा क्\u200dष",
    "thai": "แขนล่าง",
    "chinese": "下控制臂",
    "japanese": "ロアアームの締付",
    "korean": "아래 암",
    "greek": "Κάτω βραχίονας",
    "cyrillic": "Нижний рычаг",
    "combining": "Vi\u0302\u0323t nu\u031bo\u031b\u0301c a\u0301",
    "full width": "ＡＢＣ１２３",
    "emoji": "🔧",
    "emoji joined": "👩🏽\u200d🔧",
    "emoji flag": "🇫🇮",
    "mathematical": "𝔐10×1,5 — ±4 %",
}
"""What people write, and what must come through as it is."""


def raw_controls(text: str, allowed: str = "\n") -> list[str]:
    """Characters of `text` that a terminal obeys or nobody sees, named; joiners in their place are none."""
    found = []
    for character in text:
        if character in allowed or character in "\u200c\u200d":
            continue
        category = unicodedata.category(character)
        if category in ("Cc", "Cf", "Cs", "Cn", "Co", "Zl", "Zp"):
            found.append(f"U+{ord(character):04X}")
    return found


def tags(text: str) -> set[str]:
    """Names of the elements that an HTML or SVG reader would see in `text`."""
    return set(re.findall(r"</?([A-Za-z][A-Za-z0-9:]*)", text))
