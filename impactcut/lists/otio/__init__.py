"""Timelines as OpenTimelineIO JSON, written and recut; the library is asked for in one module."""
