"""Random cuts of the quay fight as EDL text in columns, for as many recuts as one likes.

Every form that lists give to transitions, sound beside and below picture on up to four channels,
motion, splits, keys, black, marks, notes and mode changes; and what is to go out of the clips.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

from impactcut.core.programme.cutlist import Removal
from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import Timebase
from tests.helpers.lists.list_clips import ALL_TIMEBASES, make_clip, make_removal


@dataclass(frozen=True)
class RandomCut:
    """A list, its clips, and what is to go."""

    text: str
    timebase: Timebase
    clips: tuple[Clip, ...]
    removals: tuple[Removal, ...]


@dataclass
class _Maker:
    random: Random
    timebase: Timebase
    clips: tuple[Clip, ...]
    at: int
    blocks: list[tuple[int, list[str]]] = field(default_factory=list)
    shots: list[tuple[Clip | None, int, int, str]] = field(default_factory=list)
    """Clip, source in and out, and channels of each shot, for what follows and for the trims."""

    def line(
        self, reel: str, channels: str, source: tuple[int, int], record: tuple[int, int],
        transition: str = "C",
    ) -> str:  # fmt: skip
        labels = " ".join(map(self.timebase.label, (*source, *record)))
        return f"###  {reel:<8} {channels:<4}  {transition:<8} {labels}"

    def shot(self) -> tuple[Clip | None, str, int, int]:
        """A clip or none, its reel, and a source in and length."""
        random = self.random
        length = random.randint(8, 60)
        if random.random() < 0.12:
            first = random.randint(0, 5000)
            return None, random.choice(["WILD", "X9", "BL"]), first, length
        last = self.shots[-1] if self.shots else None
        if last and last[0] and random.random() < 0.15:
            clip, start = last[0], last[2]
            if start + length <= clip.source_start + clip.frames:
                return clip, clip.reel, start, length
        clip = random.choice(self.clips)
        first = random.randint(0, clip.frames - length)
        return clip, clip.reel, clip.source_start + first, length

    def notes(self, *names: str) -> list[str]:
        random = self.random
        found = [f"* {name}" for name in names]
        if random.random() < 0.3:
            found.append(f"* COMMENT: NOTE {random.randint(1, 9)}")
        if random.random() < 0.2:
            found.append(f"* ASC_SOP: ({random.random():.4f} 1.0 1.0)")
        return found

    def mark(self, first: int, last: int) -> list[str]:
        if self.random.random() > 0.35:
            return []
        frame = self.random.randint(first, last)
        return [f"* LOC: {self.timebase.label(frame)} RED     MARK {self.random.randint(1, 99)}"]


def random_cut(seed: int) -> RandomCut:
    """The cut of a seed."""
    random = Random(seed)
    timebase = random.choice(ALL_TIMEBASES)
    clips = tuple(
        make_clip(
            f"S12_T{number}_A.mov",
            reel=f"A00{number}",
            timebase=timebase,
            frames=random.randint(150, 400),
            start=random.choice([0, 40_000, 90_000]) + 997 * number,
        )
        for number in range(1, 4)
    )
    start = 3600 * timebase.counted - (108 if timebase.drop_frame else 0) + 13
    maker = _Maker(random, timebase, clips, start)
    for _ in range(random.randint(2, 12)):
        _add_shot(maker)
    end = maker.at
    _add_layers(maker, start, end)
    blocks = sorted(maker.blocks, key=lambda block: block[0])
    return RandomCut(_text(maker, blocks), timebase, clips, _removals(maker))


def _add_shot(maker: _Maker) -> None:
    random = maker.random
    clip, reel, first, length = maker.shot()
    channels = random.choice(["V", "V", "B", "AA/V", "A2/V"])
    kinds = ["cut"] * 6 + ["zero", "whole", "alone", "motion", "key", "split"]
    kind = random.choice(kinds)
    at, stop = maker.at, maker.at + length
    source, record = (first, first + length), (at, stop)
    names = [f"FROM CLIP NAME: {clip.name}"] if clip else []
    transition = random.choice(["D    {:03d}", "W001 {:03d}"]).format(random.randint(1, 8))
    before = maker.shots[-1] if maker.shots else None
    if kind in ("zero", "whole", "alone") and before:
        rows = [maker.line(reel, channels, source, record, transition)]
        names = [f"FROM CLIP NAME: {before[0].name}"] if before[0] else []
        names += [f"TO CLIP NAME: {clip.name}"] if clip else []
        if kind == "zero" and before[0]:
            out = (before[2], before[2])
            rows.insert(0, maker.line(before[0].reel, channels, out, (at, at)))
        elif kind == "whole" and maker.blocks[-1][1][0].startswith("###"):
            where, beside = maker.blocks.pop()
            plain = all("###" not in row for row in beside[1:]) and len(beside) < 3
            if plain and not any(row.startswith(("M2", "AUD")) for row in beside):
                rows, names = [*beside[:1], *rows], names
                at = where
            else:
                maker.blocks.append((where, beside))
        maker.blocks.append((at, [*rows, "EFFECTS NAME IS CROSS DISSOLVE", *maker.notes(*names)]))
    elif kind == "motion":
        speed = f"M2   {reel:<8}       {2 * min(maker.timebase.counted, 60):03d}.0"
        trigger = maker.timebase.label(first)
        fast = (first, first + 2 * length)
        rows = [maker.line(reel, channels, fast, record), f"{speed:<41}{trigger}"]
        maker.blocks.append((at, [*rows, *maker.notes(*names)]))
    elif kind == "key":
        rows = [
            maker.line(reel, "V", source, record, "K B"),
            maker.line("X9", "V", source, record, "K    004"),
        ]
        maker.blocks.append((at, rows))
    elif kind == "split":
        delay = f"SPLIT:    AUDIO DELAY=  {maker.timebase.label(2)}"
        rows = [
            maker.line(reel, "V", source, record),
            maker.line(reel, "A2", (first + 2, first + length), (at + 2, stop)),
        ]
        maker.blocks.append((at, [delay, *rows, *maker.notes(*names)]))
    else:
        audio = ["AUD  3    4"] if "A" in channels and random.random() < 0.4 else []
        row = maker.line(reel, channels, source, record)
        notes = [*maker.notes(*names), *maker.mark(at, stop - 1)]
        maker.blocks.append((at, [row, *notes, *audio]))
    maker.shots.append((clip, first, first + length, channels))
    maker.at = stop + random.choice([0, 0, 0, 0, 0, 4])


def _add_layers(maker: _Maker, start: int, end: int) -> None:
    """A second picture track, sound in and out of sync below, music, sound without timecode."""
    random = maker.random
    at = start
    for clip, first, stop, channels in list(maker.shots):
        length = stop - first
        if channels == "V" and clip and random.random() < 0.5:
            late = random.choice([0, 0, 0, 3])
            source, record = (first, stop), (at + late, at + late + length)
            row = maker.line(clip.reel, "NONE", source, record)
            maker.blocks.append((at + late, [row, "AUD  5    6"]))
        at += length
    if random.random() < 0.5:
        row = maker.line("MUSIC", "A7", (900, 900 + end - start), (start, end))
        maker.blocks.append((start, [row, *maker.mark(start, end - 1)]))
    place = random.randint(start, end - 1) if random.random() < 0.25 else end
    while place < end:
        stop = min(end, place + random.randint(20, 90))
        maker.blocks.append((place, [maker.line("AX", "A8", (0, 0), (place, stop))]))
        place = stop + random.choice([0, 0, 3])
    if random.random() < 0.4:
        clip, reel, first, length = maker.shot()
        place = random.randint(start, end)
        record = (place, place + length)
        maker.blocks.append((place, [maker.line(reel, "V2", (first, first + length), record)]))


def _text(maker: _Maker, blocks: list[tuple[int, list[str]]]) -> str:
    drop = maker.timebase.drop_frame
    lines = ["TITLE: QUAY REEL 2", f"FCM: {'DROP FRAME' if drop else 'NON-DROP FRAME'}"]
    if maker.random.random() < 0.2:
        lines.append(f"* LOC: {maker.timebase.label(maker.at - 1)} GREEN   END")
    for number, (_, rows) in enumerate(blocks, 1):
        lines += (f"{number:03d}{row[3:]}" if row.startswith("###") else row for row in rows)
    return "".join(f"{line}\r\n" for line in lines)


def _removals(maker: _Maker) -> tuple[Removal, ...]:
    """Trims around shots, at their ends most of all; none touch."""
    random, found = maker.random, []
    for clip in maker.clips:
        taken: list[tuple[int, int]] = []
        for shown, first, stop, _ in maker.shots:
            if shown is None or shown != clip or random.random() < 0.3:
                continue
            count = random.randint(1, 3)
            inside = random.randint(first, stop - 1)
            place = random.choice([inside, inside, first, stop - count, stop - 1, stop, first - 1])
            place -= clip.source_start
            fits = place >= 0 and place + count <= clip.frames
            if fits and all(place + count < a or b < place for a, b in taken):
                taken.append((place, place + count))
        found += [make_removal(clip, a, b - a, hit=n) for n, (a, b) in enumerate(taken, 1)]
    return tuple(found)
