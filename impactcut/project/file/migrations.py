"""The steps that bring a project file to the form that this program uses.

A step is never changed once a release has carried it; a new form is a new step at the end.
The number of steps applied to a file stands in its ``user_version``.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Migration:
    """One step: what it is for, and its statements in order."""

    name: str
    statements: tuple[str, ...]


_CLIPS = """
CREATE TABLE clips (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    path TEXT NOT NULL UNIQUE,
    state TEXT NOT NULL CHECK (state IN ('done', 'failed')),
    size INTEGER, mtime_ns INTEGER, digest TEXT,
    settings TEXT NOT NULL,
    error TEXT NOT NULL DEFAULT '', remedy TEXT NOT NULL DEFAULT '',
    tries INTEGER NOT NULL DEFAULT 0,
    name TEXT, reel TEXT, reel_source TEXT, rate TEXT, drop_frame INTEGER, frames INTEGER,
    source_start INTEGER, timecode_source TEXT, width INTEGER, height INTEGER, rotation INTEGER,
    pixel_aspect TEXT, variable_rate INTEGER, has_sound INTEGER,
    section TEXT, take TEXT, angle TEXT, warnings TEXT,
    CHECK (state = 'failed' OR (rate IS NOT NULL AND digest IS NOT NULL))
)
"""

_HITS = """
CREATE TABLE hits (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    clip_id INTEGER NOT NULL REFERENCES clips (id) ON DELETE CASCADE,
    onset INTEGER NOT NULL, peak INTEGER NOT NULL, contact INTEGER NOT NULL,
    contact_exact REAL NOT NULL, settle INTEGER NOT NULL, reaction INTEGER,
    confidence REAL NOT NULL, peak_speed REAL NOT NULL,
    region_left REAL NOT NULL, region_top REAL NOT NULL,
    region_width REAL NOT NULL, region_height REAL NOT NULL,
    camera TEXT NOT NULL
)
"""

_PROPOSALS = """
CREATE TABLE proposals (
    hit_id INTEGER NOT NULL REFERENCES hits (id) ON DELETE CASCADE,
    viewing TEXT NOT NULL,
    trims TEXT NOT NULL,
    proposed INTEGER,
    no_trim TEXT,
    PRIMARY KEY (hit_id, viewing),
    CHECK ((proposed IS NULL) = (no_trim IS NOT NULL))
)
"""

_DECISIONS = """
CREATE TABLE decisions (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    clip_id INTEGER NOT NULL REFERENCES clips (id) ON DELETE RESTRICT,
    thread INTEGER REFERENCES decisions (id),
    contact INTEGER NOT NULL,
    digest TEXT NOT NULL,
    answer TEXT NOT NULL CHECK (answer IN ('approved', 'declined', 'later', 'cleared')),
    first INTEGER, count INTEGER,
    who TEXT NOT NULL, decided TEXT NOT NULL, note TEXT NOT NULL,
    CHECK ((answer = 'approved') = (first IS NOT NULL AND count IS NOT NULL))
)
"""

_ACTS = """
CREATE TABLE acts (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    who TEXT NOT NULL, made TEXT NOT NULL, source TEXT NOT NULL,
    undoes INTEGER UNIQUE REFERENCES acts (id)
)
"""

_DECISIONS_OF_ACTS = """
CREATE TABLE decisions_of_acts (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    act INTEGER NOT NULL REFERENCES acts (id),
    clip_id INTEGER NOT NULL REFERENCES clips (id) ON DELETE RESTRICT,
    thread INTEGER REFERENCES decisions_of_acts (id),
    contact INTEGER NOT NULL,
    digest TEXT NOT NULL,
    answer TEXT NOT NULL CHECK (
        answer IN ('approved', 'declined', 'later', 'not-a-hit', 'open', 'cleared')),
    first INTEGER, count INTEGER,
    who TEXT NOT NULL, decided TEXT NOT NULL, note TEXT NOT NULL, note_who TEXT NOT NULL,
    CHECK ((answer = 'approved') = (first IS NOT NULL AND count IS NOT NULL))
)
"""

_LABELS = """
WITH counted AS (
    SELECT id, clip_id, contact, confidence >= 0.38 AS sure,
        sum(confidence >= 0.38) OVER (PARTITION BY clip_id ORDER BY contact, id) AS number
    FROM hits WHERE typeof(contact) = 'integer'
), lettered AS (
    SELECT *, sum(NOT sure) OVER (PARTITION BY clip_id, number ORDER BY contact, id) - 1 AS letter
    FROM counted
)
INSERT INTO hit_labels SELECT id, clip_id, number || CASE
    WHEN sure THEN ''
    WHEN letter < 26 THEN char(97 + letter)
    ELSE char(96 + letter / 26, 97 + letter % 26) END, contact
FROM lettered
"""


def _only_added(table: str) -> tuple[str, ...]:
    """Triggers by which no row of a table is ever changed or removed."""
    return tuple(
        f"CREATE TRIGGER {table}_are_not_{done} BEFORE {verb} ON {table} "
        f"BEGIN SELECT RAISE (ABORT, '{table} are only added'); END"
        for verb, done in (("UPDATE", "changed"), ("DELETE", "removed"))
    )


MIGRATIONS = (
    Migration(
        "clips, what was measured of them, and decisions",
        (
            _CLIPS,
            "CREATE INDEX clips_digest ON clips (digest)",
            """CREATE TABLE motion_tracks (
                clip_id INTEGER PRIMARY KEY REFERENCES clips (id) ON DELETE CASCADE,
                data BLOB NOT NULL)""",
            _HITS,
            "CREATE INDEX hits_clip ON hits (clip_id, contact)",
            """CREATE TABLE hit_motions (
                hit_id INTEGER PRIMARY KEY REFERENCES hits (id) ON DELETE CASCADE,
                data BLOB NOT NULL)""",
            _PROPOSALS,
            _DECISIONS,
            "CREATE INDEX decisions_clip ON decisions (clip_id)",
            """CREATE TRIGGER decisions_are_not_changed BEFORE UPDATE ON decisions
                BEGIN SELECT RAISE (ABORT, 'decisions are only added'); END""",
            """CREATE TRIGGER decisions_are_not_removed BEFORE DELETE ON decisions
                BEGIN SELECT RAISE (ABORT, 'decisions are only added'); END""",
        ),
    ),
    Migration(
        "what people say of clips, the pattern of their names, and hits put together by hand",
        (
            "ALTER TABLE clips ADD COLUMN slate TEXT NOT NULL DEFAULT ''",
            """CREATE TABLE said_of_clips (
                clip_id INTEGER PRIMARY KEY REFERENCES clips (id) ON DELETE RESTRICT,
                section TEXT, take TEXT, angle TEXT, slate TEXT, circled INTEGER,
                metres REAL, metres_error REAL,
                CHECK ((metres IS NULL) = (metres_error IS NULL)))""",
            """CREATE TABLE name_patterns (
                id INTEGER PRIMARY KEY AUTOINCREMENT, pattern TEXT NOT NULL)""",
            """CREATE TABLE beat_marks (
                hit_id INTEGER PRIMARY KEY, with_hit_id INTEGER NOT NULL)""",
        ),
    ),
    Migration(
        "what viewers' answers say of the model",
        (
            """CREATE TABLE calibrations (
                id INTEGER PRIMARY KEY AUTOINCREMENT,
                position_step REAL, area_exponent REAL, viewer_ratio REAL,
                step_error REAL, exponent_error REAL, ratio_error REAL,
                answers INTEGER NOT NULL, viewers INTEGER, made TEXT)""",
        ),
    ),
    Migration(
        "clocks and counters in the picture",
        (
            "ALTER TABLE clips ADD COLUMN clock INTEGER NOT NULL DEFAULT 0",
            "ALTER TABLE said_of_clips ADD COLUMN clock INTEGER",
        ),
    ),
    Migration(
        "the trim proposed for each hit, apart from all that were judged",
        (
            """CREATE TABLE chosen_trims (
                hit_id INTEGER NOT NULL, viewing TEXT NOT NULL, trim TEXT, no_trim TEXT,
                PRIMARY KEY (hit_id, viewing),
                FOREIGN KEY (hit_id, viewing) REFERENCES proposals (hit_id, viewing)
                    ON DELETE CASCADE) WITHOUT ROWID""",
            """INSERT INTO chosen_trims SELECT hit_id, viewing,
                json_extract(trims, '$[' || proposed || ']'), no_trim FROM proposals""",
        ),
    ),
    Migration(
        "the content that clips were measured on; unknown of those that have failed since",
        (
            "ALTER TABLE clips ADD COLUMN measured TEXT NOT NULL DEFAULT ''",
            "UPDATE clips SET measured = digest WHERE state = 'done'",
        ),
    ),
    Migration(
        "finds that are no hits, notes with their own authors, and acts that can be taken back",
        (
            _ACTS,
            "INSERT INTO acts (id, who, made, source) SELECT id, who, decided, '' FROM decisions",
            _DECISIONS_OF_ACTS,
            """INSERT INTO decisions_of_acts SELECT id, id, clip_id, thread, contact, digest,
                answer, first, count, who, decided, note, iif(note = '', '', who)
                FROM decisions ORDER BY id""",
            "DROP TABLE decisions",
            "ALTER TABLE decisions_of_acts RENAME TO decisions",
            "CREATE INDEX decisions_clip ON decisions (clip_id)",
            "CREATE INDEX decisions_act ON decisions (act)",
            *_only_added("decisions"),
            *_only_added("acts"),
        ),
    ),
    Migration(
        "names of clips and hits that stay; hits that are there already are named as found",
        (
            "ALTER TABLE clips ADD COLUMN called TEXT NOT NULL DEFAULT ''",
            """CREATE TABLE clip_names (
                name TEXT PRIMARY KEY COLLATE NOCASE,
                clip_id INTEGER NOT NULL REFERENCES clips (id) ON DELETE CASCADE)""",
            """CREATE TABLE hit_labels (
                hit_id INTEGER PRIMARY KEY,
                clip_id INTEGER NOT NULL REFERENCES clips (id) ON DELETE CASCADE,
                label TEXT NOT NULL, contact INTEGER NOT NULL,
                UNIQUE (clip_id, label))""",
            _LABELS,
        ),
    ),
    Migration(
        "hits by hand",
        (
            "ALTER TABLE hits ADD COLUMN by_hand TEXT NOT NULL DEFAULT ''",
            """CREATE TABLE marks (
                id INTEGER PRIMARY KEY AUTOINCREMENT,
                act INTEGER NOT NULL REFERENCES acts (id),
                clip_id INTEGER NOT NULL REFERENCES clips (id) ON DELETE RESTRICT,
                hit_id INTEGER NOT NULL, contact INTEGER NOT NULL,
                before TEXT, before_by TEXT NOT NULL, before_motion BLOB,
                CHECK ((before IS NULL) = (before_motion IS NULL)))""",
            "CREATE INDEX marks_clip ON marks (clip_id)",
            *_only_added("marks"),
        ),
    ),
    Migration(
        "clips that are taken out",
        (
            "ALTER TABLE clips ADD COLUMN dropped INTEGER NOT NULL DEFAULT 0",
            """CREATE TABLE drops (
                id INTEGER PRIMARY KEY AUTOINCREMENT,
                act INTEGER NOT NULL REFERENCES acts (id),
                clip_id INTEGER NOT NULL REFERENCES clips (id) ON DELETE RESTRICT,
                dropped INTEGER NOT NULL)""",
            *_only_added("drops"),
        ),
    ),
    Migration(
        "the angle that the picture fills for the viewer; the motion of whole clips goes",
        (
            "DROP TABLE motion_tracks",
            """CREATE TABLE fields_of_view (
                id INTEGER PRIMARY KEY AUTOINCREMENT,
                degrees REAL NOT NULL CHECK (degrees > 0 AND degrees < 180))""",
        ),
    ),
    Migration(
        "what the spotter made of every frame, and what it was taught",
        (
            """CREATE TABLE traces (
                clip_id INTEGER PRIMARY KEY REFERENCES clips (id) ON DELETE CASCADE,
                weights TEXT NOT NULL, data BLOB NOT NULL)""",
            """CREATE TABLE lessons (
                id INTEGER PRIMARY KEY AUTOINCREMENT, correction TEXT, checked TEXT,
                CHECK ((correction IS NULL) = (checked IS NULL)))""",
        ),
    ),
    Migration(
        "versions that were handed over",
        (
            """CREATE TABLE deliveries (
                number INTEGER PRIMARY KEY,
                who TEXT NOT NULL, made TEXT NOT NULL, scope TEXT NOT NULL,
                fov REAL NOT NULL, proposed INTEGER NOT NULL,
                files TEXT NOT NULL, lists TEXT NOT NULL)""",
            *_only_added("deliveries"),
        ),
    ),
    Migration(
        "files that hold the same take as a clip that is measured",
        (
            """CREATE TABLE same_takes (
                id INTEGER PRIMARY KEY AUTOINCREMENT,
                path TEXT NOT NULL,
                clip_id INTEGER REFERENCES clips (id) ON DELETE RESTRICT,
                listed INTEGER NOT NULL,
                act INTEGER REFERENCES acts (id),
                original TEXT,
                size INTEGER, mtime_ns INTEGER, digest TEXT,
                CHECK (clip_id IS NOT NULL OR NOT listed))""",
            """CREATE VIEW same_takes_now AS SELECT * FROM same_takes WHERE id IN (
                SELECT max(id) FROM same_takes AS said WHERE NOT EXISTS (
                    SELECT 1 FROM acts WHERE acts.undoes = said.act) GROUP BY path)""",
            *_only_added("same_takes"),
        ),
    ),
    Migration(
        "reels, starts and rates that people say of clips",
        (
            "ALTER TABLE said_of_clips ADD COLUMN reel TEXT",
            "ALTER TABLE said_of_clips ADD COLUMN start TEXT",
            "ALTER TABLE said_of_clips ADD COLUMN rate TEXT",
        ),
    ),
    Migration(
        "how the brightness of clips runs, by which they are known when they are encoded anew",
        (
            """CREATE TABLE brightness (
                clip_id INTEGER PRIMARY KEY REFERENCES clips (id) ON DELETE CASCADE,
                data BLOB NOT NULL)""",
        ),
    ),
    Migration(
        "proposals as they are published, with the trim chosen; those made before are made anew",
        (
            "DROP TABLE chosen_trims",
            "DROP TABLE proposals",
            """CREATE TABLE proposed_trims (
                hit_id INTEGER NOT NULL REFERENCES hits (id) ON DELETE CASCADE,
                judge TEXT NOT NULL,
                chosen TEXT, no_trim TEXT,
                trims BLOB NOT NULL,
                PRIMARY KEY (hit_id, judge),
                CHECK ((chosen IS NULL) = (no_trim IS NOT NULL)))""",
        ),
    ),
)
