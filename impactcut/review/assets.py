"""The page's own files: its scripts, its style, and its frame of HTML."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from impactcut.review.bundle import join_modules

ENTRY = "main.js"
SCRIPTS = (
    "answering.js", "answers.js", "card.js", "choices.js", "clock.js", "controls.js", "detail.js",
    "dom.js", "facts.js", "filters.js", "handback.js", "keys.js", "main.js",
    "notices.js", "overview.js", "pack.js", "player.js", "sender.js", "sound.js", "source.js",
    "store.js", "strip.js", "words.js",
)  # fmt: skip
ICON = "icon.svg"
SUMMARY_STYLE = "summary.css"
STYLES = ("base.css", "overview.css", "hit.css", "judge.css", "layout.css")


@cache
def asset(name: str) -> str:
    """Text of one of `SCRIPTS` or `STYLES`, of `ICON` or of `SUMMARY_STYLE`."""
    return (files("impactcut.review") / "static" / name).read_text("utf-8")


def served_page() -> str:
    """HTML of the served page, which says nothing about the project."""
    return template("page.html").render(
        form="served", scripts=SCRIPTS, styles=STYLES, entry=ENTRY, icon=f"static/{ICON}"
    )


def one_file_page(title: str, blocks: Mapping[str, str]) -> str:
    """HTML of the page as one file, which loads nothing from anywhere.

    Parameters
    ----------
    title : str
    blocks : mapping of str to str
        Data by the ``id`` under which the scripts find it: JSON made by `block_text`, or base64.
    """
    script = "\n" + join_modules({name: asset(name) for name in SCRIPTS}, ENTRY)
    style = "\n" + "\n".join(asset(name) for name in STYLES)
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
