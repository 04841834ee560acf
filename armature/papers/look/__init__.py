"""What the eye says, on paper: the report, the stand-back sheet, the survey's sheet."""

from __future__ import annotations

from armature.papers.look.report import write_look, write_mending
from armature.papers.look.survey_sheet import survey_files, words_by_key
from armature.papers.look.words import in_words, judged_as

__all__ = ["in_words", "judged_as", "survey_files", "words_by_key", "write_look", "write_mending"]
