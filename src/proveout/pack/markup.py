"""Text made safe for markup: what a person wrote never becomes an element, an attribute or a broken file."""

import html
import re
from typing import Final

# Characters that XML 1.0 forbids, and lone surrogates, which no encoding can write.
_FORBIDDEN: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")


def plain(text: str) -> str:
    """The text without characters that no page or picture may hold; each becomes a replacement mark."""
    return _FORBIDDEN.sub("\ufffd", text)


def escaped(text: str) -> str:
    """The text as it may stand in an element or a quoted attribute of HTML or SVG."""
    return html.escape(plain(text), quote=True)
