"""Cuts as they are found in the wild, for as many recuts as one likes.

Beside what `random_cuts` holds: motion in every position of a transition's block and on sound,
stilled and turned round; transitions of sound, between other channels, and three lines in a block;
keys and lines of no length; splits of either kind; numbers that are used twice; sources of both
frame-code modes; clips under reels that are not theirs; sound alone; events that lie over one
another; notes with times of every kind; order by chance. What lists in circulation hold; common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from random import Random

from impactcut.core.programme.cutlist import Removal
from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import DROP_RATES, Timebase
from tests.helpers.lists.list_clips import ALL_TIMEBASES, make_clip, make_removal
from tests.helpers.lists.random_cuts import RandomCut

_CHANNELS = ("V", "V", "V", "V", "B", "B", "AA/V", "A2/V", "A", "AA", "NONE", "V2", "A3")
_SPEEDS = (" 048.0", " 000.0", "-024.0", " 012.5", "-000.0", " 100.0", "-099.9", " 024.0")
_NUMBER = "###"


@dataclass(frozen=True)
class Source:
    """Frames of a source on its clock, and its clip, if it is one of the project's."""

    clip: Clip | None
    reel: str
    first: int
    stop: int
    clock: Timebase

    @property
    def length(self) -> int:
        return self.stop - self.first

    def part(self, first: int, stop: int) -> Source:
        return replace(self, first=first, stop=stop)


@dataclass(frozen=True)
class Row:
    """A row of a list, to be numbered; ``clock`` counts its source times, if it has any."""

    text: str
    clock: Timebase | None = None


@dataclass
class OddBlock:
    """Rows under one number, the sources they show, and where they begin in the programme."""

    at: int
    rows: list[Row]
    sources: list[Source] = field(default_factory=list)


@dataclass(frozen=True)
class OddCut:
    """A cut before its blocks are numbered and written one below the other."""

    seed: int
    timebase: Timebase
    origin: int
    clips: tuple[Clip, ...]
    header: tuple[Row, ...]
    blocks: tuple[OddBlock, ...]
    removals: tuple[Removal, ...]

    def written(self) -> RandomCut:
        """The cut as a list."""
        random = Random(f"numbers {self.seed}")
        number, rows = 0, [*self.header]
        for block in self.blocks:
            number += 0 if number and random.random() < 0.06 else 1
            number = random.randint(1, 90) if random.random() < 0.03 else number
            rows += (
                replace(row, text=row.text.replace(_NUMBER, f"{number:03d}", 1))
                for row in block.rows
            )
        text = "".join(f"{row}\r\n" for row in ("TITLE: QUAY REEL 2", *self._with_modes(rows)))
        return RandomCut(text, self.timebase, self.clips, self.removals)

    def _with_modes(self, rows: Sequence[Row]) -> Iterator[str]:
        drop = self.timebase.drop_frame
        yield _mode(drop)
        for row in rows:
            if row.clock is not None and row.clock.drop_frame != drop:
                drop = row.clock.drop_frame
                yield _mode(drop)
            yield row.text


def _mode(drop: bool) -> str:
    return f"FCM: {'DROP FRAME' if drop else 'NON-DROP FRAME'}"


def odd_cut(seed: int) -> OddCut:
    """The cut of a seed."""
    return _Maker(seed).cut()


def smaller(cut: OddCut) -> Iterator[OddCut]:
    """The cut with one block, one trim or one row less."""
    for at in range(len(cut.blocks)):
        yield replace(cut, blocks=(*cut.blocks[:at], *cut.blocks[at + 1 :]))
    for at in range(len(cut.removals)):
        yield replace(cut, removals=(*cut.removals[:at], *cut.removals[at + 1 :]))
    for at in range(len(cut.header)):
        yield replace(cut, header=(*cut.header[:at], *cut.header[at + 1 :]))
    for at, block in enumerate(cut.blocks):
        for row in range(len(block.rows)):
            blocks = list(cut.blocks)
            blocks[at] = replace(block, rows=[*block.rows[:row], *block.rows[row + 1 :]])
            yield replace(cut, blocks=tuple(blocks))


class _Maker:
    """Makes the blocks of a cut one by one."""

    def __init__(self, seed: int) -> None:
        self.seed, self.random = seed, Random(f"odd {seed}")
        random = self.random
        self.timebase = random.choice(ALL_TIMEBASES)
        others = [self.timebase, self.timebase]
        if self.timebase.rate in DROP_RATES:
            others.append(replace(self.timebase, drop_frame=not self.timebase.drop_frame))
        self.clips = tuple(
            make_clip(
                f"S12_T{number}_A.mov",
                reel=f"A00{number}",
                timebase=(clock := random.choice(others)),
                frames=random.randint(100, 300),
                start=random.choice([0, 40_000 + 997 * number, clock.day - 60]),
            )
            for number in range(1, 4)
        )
        hour = 3600 * self.timebase.counted - (108 if self.timebase.drop_frame else 0)
        late = self.timebase.day - random.randint(30, 200)
        self.origin = random.choice([0, hour, hour - 30, late])
        self.at = self.origin
        self.blocks: list[OddBlock] = []
        self.last: Source | None = None

    def cut(self) -> OddCut:
        random = self.random
        for _ in range(random.randint(1, 8)):
            self._add()
        self._add_elsewhere()
        blocks = sorted(self.blocks, key=lambda block: block.at)
        if self.at < self.timebase.day and random.random() < 0.2:
            random.shuffle(blocks)
        header = tuple(self._notes(self.origin, self.at, None)) if random.random() < 0.3 else ()
        removals = tuple(self._removals())
        rows = tuple(block for block in blocks if block.rows)
        return OddCut(
            self.seed, self.timebase, self.origin, self.clips, header, rows, removals
        )  # fmt: skip

    def _line(
        self, source: Source, channels: str, at: int, transition: str = "C", lasts: int = -1
    ) -> Row:
        stop = at + (source.length if lasts < 0 else lasts)
        labels = [source.clock.label(each) for each in (source.first, source.stop)]
        labels += [self.timebase.label(each) for each in (at, stop)]
        text = f"{_NUMBER}  {source.reel:<8} {channels:<4}  {transition:<8} {' '.join(labels)}"
        return Row(text, source.clock)

    def _motion(self, source: Source) -> Row:
        speed = f"M2   {source.reel:<8}      {self.random.choice(_SPEEDS)}"
        return Row(f"{speed:<41}{source.clock.label(source.first)}", source.clock)

    def _source(self) -> Source:
        random = self.random
        length = random.randint(1, 40) if random.random() < 0.4 else random.randint(20, 60)
        last = self.last
        if last and last.clip and random.random() < 0.2:
            stop = last.stop + length
            if stop <= last.clip.source_start + last.clip.frames:
                return last.part(last.stop, stop)
        if random.random() < 0.1:
            first = random.randint(0, 5000)
            reel = random.choice(["WILD", "X9", "BL", "AX"])
            return Source(None, reel, first, first + length, self.timebase)
        clip = random.choice(self.clips)
        first = clip.source_start + random.randint(0, clip.frames - length)
        reel = clip.reel if random.random() < 0.9 else random.choice(["COPY", "A009"])
        return Source(clip, reel, first, first + length, clip.timebase)

    def _transition(self) -> str:
        form = self.random.choice(["D    {:03d}", "D    {:03d}", "W001 {:03d}", "W118 {:03d}"])
        return form.format(self.random.choice([0, 1, 4, 8, 12, 24]))

    def _add(self) -> None:
        random = self.random
        source, channels = self._source(), random.choice(_CHANNELS)
        kinds: dict[Callable[[Source, str], list[Row]], int] = {
            self._cut: 14, self._moving: 1, self._zero: 1, self._from_zero: 2,
            self._from_shot: 2, self._alone: 1, self._three: 1, self._key: 1, self._split: 1,
        }  # fmt: skip
        at = self.at
        rows = random.choices(list(kinds), list(kinds.values()))[0](source, channels)
        rows += self._notes(at, self.at, source)
        if channels == "NONE" or (channels != "V" and random.random() < 0.3):
            below = random.randint(1, len(rows))
            rows.insert(below, Row(random.choice(["AUD  3    4", "AUD  4"])))
        self.blocks.append(OddBlock(at, rows, [source]))
        self.last = source
        early = random.choice([1, 5]) if random.random() < 0.04 else 0
        self.at = max(self.origin, self.at + random.choice([0, 0, 0, 0, 0, 0, 4]) - early)

    def _cut(self, source: Source, channels: str) -> list[Row]:
        self.at += source.length
        return [self._line(source, channels, self.at - source.length)]

    def _moving(self, source: Source, channels: str) -> list[Row]:
        random = self.random
        taken = random.choice([source.length, 1, 2 * source.length, 0])
        fast = source.part(source.first, source.first + taken)
        row = self._line(fast, channels, self.at, lasts=source.length)
        self.at += source.length
        return [row, *([self._motion(source)] if random.random() < 0.9 else [])]

    def _zero(self, source: Source, channels: str) -> list[Row]:
        return [self._line(source.part(source.first, source.first), channels, self.at)]

    def _with_motion(self, lines: Sequence[tuple[Source, Row]]) -> list[Row]:
        """Lines, some with their motion: below their own line, or below the last."""
        random = self.random
        rows: list[Row] = []
        below: list[Row] = []
        for source, row in lines:
            rows.append(row)
            if random.random() < 0.2:
                (rows if random.random() < 0.5 else below).append(self._motion(source))
        random.shuffle(below)
        return [*rows, *below, *([Row("EFFECTS NAME IS CROSS DISSOLVE")] * random.randint(0, 1))]

    def _from_zero(self, source: Source, channels: str) -> list[Row]:
        last = self.last or self._source()
        out = last.part(last.stop, last.stop)
        if self.random.random() < 0.2:
            out = Source(None, "BL", 0, 0, self.timebase)
        row = self._line(source, channels, self.at, self._transition())
        beside = self._line(out, self.random.choice([channels, channels, "V"]), self.at)
        self.at += source.length
        return self._with_motion([(out, beside), (source, row)])

    def _from_shot(self, source: Source, channels: str) -> list[Row]:
        before = self._source()
        first = self._line(before, self.random.choice([channels, channels, "B", "V"]), self.at)
        self.at += before.length
        second = self._line(source, channels, self.at, self._transition())
        self.at += source.length
        self._remember(before)
        return self._with_motion([(before, first), (source, second)])

    def _alone(self, source: Source, channels: str) -> list[Row]:
        row = self._line(source, channels, self.at, self._transition())
        self.at += source.length
        return self._with_motion([(source, row)])

    def _three(self, source: Source, channels: str) -> list[Row]:
        lines = []
        for transition in ("C", self._transition(), self._transition()):
            lines.append((source, self._line(source, channels, self.at, transition)))
            self._remember(source)
            self.at += source.length
            source = self._source()
        return self._with_motion(lines)

    def _key(self, source: Source, _channels: str) -> list[Row]:
        random = self.random
        over, lasts = self._source(), source.length
        kind = random.choice(["K    000", "K    012", "K O  008", "K       "])
        rows = [
            self._line(source, "V", self.at, random.choice(["K B     ", "K B  012"])),
            self._line(over.part(over.first, over.first + lasts), "V", self.at, kind),
        ]
        if random.random() < 0.3:
            rows.append(self._line(over.part(over.first, over.first), "V", self.at, "K O  006"))
        self.at += lasts
        return rows

    def _split(self, source: Source, _channels: str) -> list[Row]:
        late = self.random.choice(["AUDIO", "VIDEO"])
        delay = min(2, source.length - 1)
        part = source.part(source.first + delay, source.stop)
        rows = [self._line(source, "V", self.at), self._line(part, "A2", self.at + delay)]
        if late == "VIDEO":
            rows = [self._line(part, "V", self.at + delay), self._line(source, "A2", self.at)]
        self.at += source.length
        return [Row(f"SPLIT:    {late} DELAY=  {self.timebase.label(delay)}"), *rows]

    def _remember(self, source: Source) -> None:
        """Let trims be about a source that is not the last of its block."""
        self.blocks.append(OddBlock(self.at, [], [source]))

    def _notes(self, first: int, stop: int, source: Source | None) -> list[Row]:
        random = self.random
        notes: list[str] = []
        if source and source.clip and random.random() < 0.8:
            names = ("FROM CLIP NAME", "FROM CLIP NAME", "SOURCE FILE", "TO CLIP NAME")
            notes.append(f"* {random.choice(names)}: {source.clip.name}")

        later = min(stop + 9000, self.timebase.day - 1)

        def place() -> str:
            return self.timebase.label(random.randint(first, max(first, stop - 1)))

        said: dict[Callable[[], str], float] = {
            lambda: f"* LOC: {place()} RED     LANDS": 0.25,
            lambda: f"* LOC: {place()} RED     FROM {place()}": 0.08,
            lambda: f"* LOC: {self.timebase.label(later)} BLUE    LATER": 0.05,
            lambda: f"* COMMENT: SEE {place()}": 0.1,
            lambda: f"* COMMENT: OF {source.clock.label(source.first) if source else '?'}": 0.1,
            lambda: f"* COMMENT: NOTE {random.randint(1, 3)}": 0.15,
            lambda: "* ASC_SOP: (0.9 1.0 1.0)": 0.1,
        }
        notes += [say() for say, chance in said.items() if random.random() < chance]
        random.shuffle(notes)
        return list(map(Row, notes))

    def _add_elsewhere(self) -> None:
        """Overlays, and sound of the project's clips or others, beside the picture."""
        random = self.random
        shown = [(block.at, source) for block in self.blocks for source in block.sources]
        for begins, source in shown:
            if random.random() < 0.25:
                at = begins + random.choice([0, 0, 0, 3])
                channels = random.choice(["A", "AA", "A2", "A3", "A4", "NONE"])
                rows = [self._line(source, channels, at)]
                rows += [Row("AUD  5    6")] if channels == "NONE" else []
                rows += [self._motion(source)] if random.random() < 0.08 else []
                self.blocks.append(OddBlock(at, rows))
        end = max(self.at, self.origin + 1)
        if random.random() < 0.4:
            music = Source(None, "MUSIC", 900, 900 + end - self.origin, self.timebase)
            self.blocks.append(OddBlock(self.origin, [self._line(music, "A7", self.origin)]))
        if random.random() < 0.2:
            at = random.randint(self.origin, end - 1)
            untimed = Source(None, "AX", 0, 0, self.timebase)
            row = self._line(untimed, "A8", at, lasts=random.randint(1, 90))
            self.blocks.append(OddBlock(at, [row]))
        for channels, chance in (("V2", 0.2), ("A5", 0.3), ("V", 0.06)):
            if random.random() < chance:
                source, at = self._source(), random.randint(self.origin, end)
                notes = self._notes(at, at + source.length, source)
                rows = [self._line(source, channels, at), *notes]
                self.blocks.append(OddBlock(at, rows, [source]))

    def _removals(self) -> Iterator[Removal]:
        random = self.random
        for clip in self.clips:
            taken: list[tuple[int, int]] = []
            for source in (each for block in self.blocks for each in block.sources):
                if source.clip != clip or random.random() < 0.3:
                    continue
                count = random.randint(1, 3)
                inside = random.randint(source.first, source.stop - 1)
                ends = (source.first, source.stop - count, source.stop - 1, source.stop)
                place = inside if random.random() < 0.7 else random.choice(ends)
                place -= clip.source_start
                fits = place >= 0 and place + count <= clip.frames
                if fits and all(place + count < a or b < place for a, b in taken):
                    taken.append((place, place + count))
            for number, (first, stop) in enumerate(taken, 1):
                yield make_removal(clip, first, stop - first, hit=number)
