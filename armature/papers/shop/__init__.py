"""The shop's papers: cards, templates, tags, station sheets, erection and estimate."""

from __future__ import annotations

from armature.papers.shop.erection import erection_sheets
from armature.papers.shop.estimate import estimate_sheet
from armature.papers.shop.joint_words import LEAST_ONLY
from armature.papers.shop.packet import lost_card, packet, packet_again
from armature.papers.shop.setting_out import setting_out
from armature.papers.shop.site_work import site_work
from armature.papers.shop.station_sheets import stations
from armature.papers.shop.strips import full_size, strips
from armature.papers.shop.tags import tags
from armature.papers.shop.tapes import tapes
from armature.papers.shop.template_drawing import templates_dxf
from armature.papers.shop.templates import templates, tile_size

__all__ = [
    "LEAST_ONLY",
    "erection_sheets",
    "estimate_sheet",
    "full_size",
    "lost_card",
    "packet",
    "packet_again",
    "setting_out",
    "site_work",
    "stations",
    "strips",
    "tags",
    "tapes",
    "templates",
    "templates_dxf",
    "tile_size",
]
