"""What travels as one piece, what is joined on site, and what the hook takes."""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from armature.shop.erecting import Stage, erected
from armature.shop.hooks import Lift, lift
from armature.shop.plan.buying import Buying
from armature.shop.sections import SectionPlan, section_plan
from armature.shop.splices import SiteJoint, site_joints
from armature.shop.trucks import Truckload, other_trucks


class Erection(Buying):
    """The plan of the site."""

    @cached_property
    def sections(self) -> SectionPlan:
        """What travels as one piece, in order of erection."""
        return self._erected[0]

    @cached_property
    def stages(self) -> tuple[Stage, ...]:
        """The order of erection."""
        return self._erected[1]

    @cached_property
    def site_joints(self) -> tuple[SiteJoint | None, ...]:
        """The joint of each section on site, None for the first."""
        made_as = self.commission.shop.transport.splice
        return site_joints(self.tree, self.sections, made_as, self._yields, self.asked, self.commission.units)

    @cached_property
    def on_site(self) -> NDArray[np.bool_]:
        """Whether each member is welded on site, because a section begins at its joint: (M,)."""
        at_site = np.zeros(len(self.tree), dtype=bool)
        at_site[[each.splice.row for each in self.sections.sections if each.splice and each.splice.at_joint]] = True
        return at_site

    @cached_property
    def trucks(self) -> tuple[Truckload, ...]:
        """How many sections other trucks would need."""
        least = self.commission.shop.transport.least_splice
        return other_trucks(self.tree, self.sections, self.limits, self.commission.steel.density, least, self.foot)

    @cached_property
    def lifts(self) -> tuple[Lift, ...]:
        """How each section is lifted."""
        way, tree = self.commission.shop.transport, self.tree
        return tuple(
            lift(tree, section, self._yields, way.sling_angle, way.legs, self.limits)
            for section in self.sections.sections
        )

    @cached_property
    def _erected(self) -> tuple[SectionPlan, tuple[Stage, ...]]:
        least = self.commission.shop.transport.least_splice
        parted = section_plan(
            self.tree, self.limits, self.commission.steel.density, least, self.foot, self.commission.units
        )
        return erected(parted, self.foot.side_mm)
