"""Pages with scripts that open without a network: what is vendored goes in, what points outside is refused."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from importlib.resources import files

from roundplan.handouts.page import printable

_PLAIN = re.compile(r"[^\w ,.\-]|_")
_RANDOM_ID = re.compile(r"(?<=_)[0-9a-f]{32}(?![0-9a-f])")
_REMOTE_TEXT = re.compile(
    r"(?i)(?:\b(?:src|href|action|srcset|poster)\s*=\s*|\burl\(\s*)[\"'`]?\s*(?:[a-z][a-z0-9+.]*:)?//"
    r"|\btilelayer\b|\bfetch\(|\bimport\(|xmlhttprequest"
)
_LINKING = frozenset({"src", "href", "srcset", "action", "formaction", "poster", "data", "background", "xlink:href"})
_INLINE = re.compile(r"(?i)\s*(?:#|data:image/)")


class RemoteLink(ValueError):
    """A page that would fetch something from elsewhere."""


def vendored(name: str) -> str:
    """Return the text of a file that the package carries under ``handouts/vendor``."""
    return files("roundplan.handouts").joinpath("vendor", name).read_text(encoding="utf-8")


def entities(text: str) -> str:
    """Return text that nothing can act upon: all but letters, figures, space and ``, . -`` as numeric entities.

    For text that passes through scripts and template literals before it is shown as HTML.
    """
    return _PLAIN.sub(lambda found: f"&#{ord(found.group())};", str(printable(text)).replace("\n", " "))


def steady_ids(page: str) -> str:
    """Return a page with its random element ids (32 hexadecimal digits) numbered in order of appearance."""
    seen: dict[str, str] = {}
    return _RANDOM_ID.sub(lambda found: seen.setdefault(found.group(), f"n{len(seen) + 1}"), page)


def refuse_remote(page: str, scripts: str) -> str:
    """Return the page as it is.

    Parameters
    ----------
    page : str
        The whole page; none of its elements may point elsewhere.
    scripts : str
        Scripts made for this page; they may not fetch or name what lies elsewhere either.

    Raises
    ------
    RemoteLink
        If something does; says what.
    """
    finder = _LinkFinder()
    finder.feed(page)
    finder.close()
    found = [*finder.remote, *(match.group() for match in _REMOTE_TEXT.finditer(scripts))]
    if found:
        raise RemoteLink(f"the page points outside: {found[0][:120]}")
    return page


class _LinkFinder(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.remote: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if name in _LINKING and not _INLINE.match(value or ""):
                self.remote.append(f'<{tag} {name}="{value}">')
