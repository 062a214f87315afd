"""One study of a build: its assessment, and whatever else a report tells, each worked out once, when it is first asked for."""

from hydro.study.study import Study, study_of

__all__ = ["Study", "study_of"]
