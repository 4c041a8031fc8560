"""Everything impactcut raises on purpose.

Every message names the thing at fault (a file, a list line, an option) and says what to do next::

    ImpactcutError
    ├── MediaError
    │   ├── UnreadableMediaError (OSError)   missing, no permission, input/output fault
    │   ├── NotMediaError (ValueError)       the bytes are not a media file, or nothing decodes
    │   ├── NoVideoError (ValueError)        sound only, or a cover picture only
    │   ├── OwnFilmError (ValueError)        a film that this program made to be looked at
    │   └── LostProcessError                 measuring it crashed, hung or took too much memory
    ├── WorkerError                          processes or a cluster to measure in cannot be had
    ├── MappingError (ValueError)            words for where workers see the media that say nothing
    ├── TimeError
    │   ├── RateError (ValueError)           a rate that is unknown, or that a list cannot carry
    │   └── TimecodeError (ValueError)       a label that does not exist at its rate
    ├── PatternError (ValueError)            a pattern of names that cannot be read
    ├── TrimError (ValueError)               a trim that does not fit its clip or another trim
    ├── ListError
    │   ├── ListFormatError (ValueError)     a list that cannot be written or read as asked
    │   └── ListMismatchError                a written list, read back, is not the plan
    ├── ProjectError
    │   ├── ProjectFileError (OSError)       not a project, newer, damaged, or locked
    │   ├── UnknownHitError (LookupError)    no such hit in the project
    │   ├── UnknownNameError (LookupError)   no clip of such a section, take or angle
    │   ├── NotListedError (ValueError)      a find too doubtful to be listed, taken for a hit
    │   ├── MarkError (ValueError)           a hit by hand where there can be none
    │   ├── NotSameTakeError (ValueError)    files that cannot be one take
    │   └── LearningError (ValueError)       too few answers to learn from
    ├── AnswersError (ValueError)            answers of a page or of viewers that cannot be read
    └── OutputError (OSError)                a place that cannot be written
"""


class ImpactcutError(Exception):
    """Root of every error that is meant for a person."""


class MediaError(ImpactcutError):
    """A media file cannot be used."""


class UnreadableMediaError(MediaError, OSError):
    """The file cannot be opened: missing, no permission, or an input/output fault."""


class NotMediaError(MediaError, ValueError):
    """The file holds no media that can be decoded."""


class NoVideoError(MediaError, ValueError):
    """The file has no moving picture."""


class OwnFilmError(MediaError, ValueError):
    """The file is a film that this program made to be looked at."""


class LostProcessError(MediaError):
    """The process that measured the file crashed, hung or took too much memory."""


class WorkerError(ImpactcutError):
    """There is nothing to measure in: no process starts, or the cluster cannot be used."""


class MappingError(ImpactcutError, ValueError):
    """Where workers see the media cannot be read from what was given."""


class TimeError(ImpactcutError):
    """A rate or a timecode is wrong."""


class RateError(TimeError, ValueError):
    """A frame rate is unknown, or cannot be carried by the list asked for."""


class TimecodeError(TimeError, ValueError):
    """A timecode label does not exist at its rate."""


class PatternError(ImpactcutError, ValueError):
    """A pattern of clip names cannot be read."""


class TrimError(ImpactcutError, ValueError):
    """A trim does not fit its clip, or meets another trim."""


class ListError(ImpactcutError):
    """A list cannot be made or read."""


class ListFormatError(ListError, ValueError):
    """A list cannot be written or read in the form asked for."""


class ListMismatchError(ListError):
    """A list, read back, differs from the plan it was written from."""


class ProjectError(ImpactcutError):
    """The project file cannot do what was asked."""


class ProjectFileError(ProjectError, OSError):
    """The project file is not one, is newer than this program, is damaged, or is in use."""


class UnknownHitError(ProjectError, LookupError):
    """The project has no such hit."""


class UnknownNameError(ProjectError, LookupError):
    """No clip of the project is of such a section, take or angle."""


class NotListedError(ProjectError, ValueError):
    """A find below the listed confidence is taken for a hit, and nobody said that it is meant."""


class MarkError(ProjectError, ValueError):
    """There can be no hit by hand there: no such frame, or a hit is there already."""


class NotSameTakeError(ProjectError, ValueError):
    """Two files are said to be one take, and cannot be."""


class LearningError(ProjectError, ValueError):
    """There are too few answers to learn from, or nothing that was learnt."""


class AnswersError(ImpactcutError, ValueError):
    """A file is not one of answers, from a review page or of viewers, or is damaged."""


class OutputError(ImpactcutError, OSError):
    """A file or folder cannot be written."""
