"""The page's own files: its scripts, its style, and its frame of HTML."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Final

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from impactcut.review.bundle import join_modules

ENTRY: Final = "main.js"
ICON: Final = "icon.svg"
SUMMARY_STYLE: Final = "summary.css"
STYLES: Final = (
    "base/base.css", "fight/overview.css", "hit/hit.css", "hit/judge.css", "base/layout.css",
)  # fmt: skip
JOINED_SCRIPT, JOINED_STYLE = "page.js", "page.css"
_STATIC: Final = Path(__file__).parent / "static"


@cache
def scripts() -> tuple[str, ...]:
    """The page's scripts, by their paths."""
    return tuple(sorted(path.relative_to(_STATIC).as_posix() for path in _STATIC.rglob("*.js")))


@cache
def asset(name: str) -> str:
    """Text of one of `scripts` or `STYLES`, of `ICON` or `SUMMARY_STYLE`, or of all joined."""
    if name == JOINED_SCRIPT:
        return join_modules({each: asset(each) for each in scripts()}, ENTRY)
    if name == JOINED_STYLE:
        return "\n".join(asset(each) for each in STYLES)
    return (_STATIC / name).read_text("utf-8")


def served_page() -> str:
    """HTML of the served page, which says nothing about the project.

    Scripts and style come joined: thirty requests, one after another by their imports, would take
    longer than all the rest.
    """
    return template("page.html").render(
        form="served",
        script=f"static/{JOINED_SCRIPT}",
        style=f"static/{JOINED_STYLE}",
        icon=f"static/{ICON}",
    )


def one_file_page(title: str, blocks: Mapping[str, str]) -> str:
    """HTML of the page as one file, which loads nothing from anywhere.

    Parameters
    ----------
    blocks : mapping of str to str
        Data by the ``id`` under which the scripts find it: JSON made by `block_text`, or base64.
    """
    script, style = "\n" + asset(JOINED_SCRIPT), "\n" + asset(JOINED_STYLE)
    policy = (
        f"default-src 'none'; script-src {asset_hash(script)}; style-src {asset_hash(style)}; "
        "img-src data: blob:; base-uri 'none'; form-action 'none'"
    )
    return template("page.html").render(
        form="file",
        icon="data:image/svg+xml;base64," + base64.b64encode(asset(ICON).encode()).decode(),
        title=title,
        policy=policy,
        script=script,
        style=style,
        blocks=blocks,
    )


def block_text(json_text: str) -> str:
    """JSON that cannot end the script element it stands in, nor begin another."""
    for character in "<>&\u2028\u2029":
        json_text = json_text.replace(character, f"\\u{ord(character):04x}")
    return json_text


def asset_hash(text: str) -> str:
    """The source by which a content security policy lets an inline script or style in."""
    digest = hashlib.sha256(text.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"


def template(name: str) -> Template:
    """One of the page's frames of HTML."""
    loader = PackageLoader("impactcut.review")
    environment = Environment(loader=loader, autoescape=True, undefined=StrictUndefined)
    return environment.get_template(name)
