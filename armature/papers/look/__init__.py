"""What the eye says, on paper: the report, the stand-back sheet, the survey's sheet."""

from __future__ import annotations

from armature.papers.look.drawings import fault_picture, side_by_side, stand_back
from armature.papers.look.report import look_json, look_md
from armature.papers.look.survey_sheet import survey_files, words_by_key
from armature.papers.look.words import in_words, judged_as

__all__ = [
    "fault_picture",
    "in_words",
    "judged_as",
    "look_json",
    "look_md",
    "side_by_side",
    "stand_back",
    "survey_files",
    "words_by_key",
]
