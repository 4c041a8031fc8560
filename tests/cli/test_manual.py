"""The manual's pages: each is there, and no name in them is wrong."""

from __future__ import annotations

import re

import pytest
from click.testing import CliRunner

from impactcut.cli import main
from impactcut.core.detect.confidence import SURE
from impactcut.manual import TOPICS, page


def test_help_lists_the_pages_and_prints_each() -> None:
    listed = CliRunner().invoke(main, ["help"]).stdout
    for topic, about in TOPICS.items():
        assert re.search(rf"^{topic} +{re.escape(about)}$", listed, re.M)
        told = CliRunner().invoke(main, ["help", topic])
        assert told.exit_code == 0
        assert told.stdout == page(topic)
        assert told.stdout.startswith("# ")


def test_another_topic_is_refused_with_those_there_are() -> None:
    told = CliRunner().invoke(main, ["help", "weather"])
    assert told.exit_code == 2
    assert "weather" in told.stderr
    assert "numbers" in told.stderr


@pytest.mark.parametrize("topic", TOPICS)
def test_every_command_and_option_named_is_one(topic: str) -> None:
    for name in re.findall(r"`impactcut ([a-z]+)", page(topic)):
        assert name in main.commands
    known = {
        option for command in main.commands.values() for p in command.params for option in p.opts
    }
    for option in re.findall(r"`(--[a-z-]+)", page(topic)):
        assert option in known, option


def test_the_page_on_finding_names_the_default() -> None:
    assert f"default confidence of {SURE}" in page("finding")


def test_the_page_for_scripts_names_every_command_that_prints_json() -> None:
    printing = {
        name
        for name, command in main.commands.items()
        if any("--json" in each.opts for each in command.params)
    }
    (named,) = re.findall(r"instead of a table: (.+?) take it", page("scripts"), re.S)
    assert set(re.findall(r"`([a-z]+)`", named)) == printing


def test_what_viewers_are_shown_goes_by_no_project() -> None:
    told = CliRunner().invoke(main, ["calibrate", "make", "--help"]).stdout
    assert "--fov DEG" in told and "[default: 33]" in told and "scan" not in told
