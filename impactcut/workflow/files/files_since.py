"""What has become of the files of a project since they were measured."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from impactcut.core.grouping import grouped
from impactcut.core.takes.names import natural_order
from impactcut.errors import MediaError
from impactcut.project import Project, StoredClip
from impactcut.workflow.files.fingerprint import missing, unchanged


@dataclass(frozen=True)
class Oddity:
    """Something to look at.

    Parameters
    ----------
    one, many : str
        What is odd of one of them, and of several.
    remedy : str
        What to do; empty where nothing has to be done.
    names : tuple of str
        Clips or hits.
    """

    one: str
    many: str
    remedy: str
    names: tuple[str, ...]

    @property
    def what(self) -> str:
        """What is odd, to stand after their number."""
        return self.one if len(self.names) == 1 else self.many


def files_since(project: Project) -> Iterator[Oddity]:
    """Clips that are gone, have changed, or are there twice."""
    clips = sorted(project.clips(), key=lambda clip: natural_order(clip.path))
    done = [clip for clip in clips if clip.state == "done" and not clip.dropped]
    gone = tuple(clip.path for clip in done if missing(Path(clip.path)))
    remedy = "connect its disk, or 'impactcut scan' the folder that it was moved to"
    yield Oddity("clip is not where it was", "clips are not where they were", remedy, gone)
    originals = [take for take in project.same_takes() if take.listed]
    lost_originals = tuple(each.path for each in originals if missing(Path(each.path)))
    remedy = "lists name it all the same; connect its disk, or 'impactcut same' with where it is"
    one = "original is not where it was"
    yield Oddity(one, "originals are not where they were", remedy, lost_originals)
    changed = tuple(clip.path for clip in done if has_changed(clip))
    remedy = "'impactcut scan' measures it again; what was decided on it stays"
    one = "clip has changed since it was measured"
    yield Oddity(one, "clips have changed since they were measured", remedy, changed)
    remedy = "lists hold the hits of both; decide on those of one of them"
    yield Oddity(
        "clip is the same as another", "clips are the same as others", remedy, tuple(_copies(done))
    )
    remedy = (
        "'impactcut same' makes one clip of an original and its proxy; 'impactcut drop' takes out "
        "what is not needed"
    )
    one, many = "clip has the file name of another", "clips have the file names of others"
    yield Oddity(one, many, remedy, tuple(_namesakes(done)))
    lost = tuple(clip.path for clip in clips if clip.own is None and missing(Path(clip.path)))
    remedy = "'impactcut scan' of the folder that it was in forgets it"
    one, many = "file that failed is no longer there", "files that failed are no longer there"
    yield Oddity(one, many, remedy, lost)


def has_changed(clip: StoredClip) -> bool:
    """Whether the file of a clip is there and holds something else than was measured."""
    path = Path(clip.path)
    if clip.fingerprint is None or missing(path):
        return False
    try:
        return not unchanged(path, clip.fingerprint)
    except MediaError:
        return False


def _namesakes(clips: Sequence[StoredClip]) -> Iterator[str]:
    """Clips of one file name that hold different things."""
    alike = grouped((Path(clip.path).name.casefold(), clip) for clip in clips)
    for first, *others in alike.values():
        for other in others:
            if other.measured != first.measured:
                yield f"{other.path} (as {first.path})"


def _copies(clips: Sequence[StoredClip]) -> Iterator[str]:
    alike = grouped((clip.fingerprint.digest, clip) for clip in clips if clip.fingerprint)
    for first, *others in alike.values():
        for other in others:
            yield f"{other.path} (as {first.path})"
