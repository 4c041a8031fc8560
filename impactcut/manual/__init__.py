"""The manual's pages as text, packaged with the program; never anything that runs."""

from importlib.resources import files

TOPICS = {
    "answers": "approve, as shot, later, not a hit; hits by hand, undo, deliveries",
    "numbers": "what contact, confidence, gain, shows, weak, late and early mean",
    "finding": "what is found and missed, measured on real people",
    "page": "the director's page: strip, keys, screening, tapping, beats",
    "shots": "sections, takes, angles, shot logs and beats",
    "rates": "frame rates, timecode, reels and clips without any",
    "sound": "sound in sync, spotting lists and the scratch hit track",
    "timelines": "timelines in and out, their markers, and what other formats lose",
    "teaching": "finds, taste and what shows, taught by your own answers",
    "clocks": "burnt-in timecode and counters",
    "cluster": "many machines at once",
    "completion": "commands completed by the shell",
    "scripts": "exit codes, and --json for scripts",
}


def page(topic: str) -> str:
    """The text of a topic's page.

    Raises
    ------
    KeyError
        If there is no such topic.
    """
    if topic not in TOPICS:
        raise KeyError(topic)
    return (files(__name__) / f"{topic}.md").read_text(encoding="utf-8")
