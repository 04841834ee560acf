"""How each member is welded on, and in which order."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from armature.metals import grade
from armature.shop.access import WeldOrder, weld_order
from armature.shop.plan.erecting import Erection
from armature.shop.posing import Poses, poses
from armature.shop.preparing import Preparations, preparations
from armature.shop.welds import Welds, welds
from armature.tree import Ints


class Joining(Erection):
    """The plan of the welder."""

    @cached_property
    def welds(self) -> Welds:
        """How each member is welded on."""
        return welds(self.tree, self.kinds, self.paper, self.asked)

    @cached_property
    def welding(self) -> WeldOrder:
        """An order of welding in which a torch reaches every joint."""
        return weld_order(self.tree)

    @cached_property
    def preparations(self) -> Preparations:
        """How each end is prepared and welded."""
        tree, weld = self.tree, self.welding
        thin = np.where(tree.walls > 0.0, tree.walls, tree.start_diameters)
        parents = np.maximum(tree.parents, 0)
        beside = np.where(tree.parents >= 0, thin[parents], self.foot.thickness_mm)
        beside = np.where(tree.walls[parents] > 0.0, beside, np.maximum(beside, self.joints.parent_diameters))
        leans = np.where(tree.parents >= 0, self.joints.leans, 90.0)
        reached = np.where(tree.parents >= 0, np.where(self.on_site, weld.late, weld.reached), 8)
        heels = None if self.asked is None else self.asked.heel_uses
        thickest = np.maximum(thin, beside)
        # Stainless steel is not preheated: it takes the least of the table.
        warmed = np.zeros(len(tree)) if grade(self.commission.steel.grade).is_stainless else thickest
        return preparations(self.welds.grooves, thin, leans, reached, warmed, heels)

    @cached_property
    def poses(self) -> Poses:
        """What tape and plumb line read when a member is held to its place."""
        return poses(self.tree, self.weld_sequence, self.sections, self.on_site, self.commission.units)

    @cached_property
    def weld_sequence(self) -> Ints:
        """Rows in the order in which the crew welds, (M,): section by section in the shop, then on site."""
        order, section = self.welding.order, self.sections.of_member
        return order[np.lexsort((section[order], self.on_site[order]))]

    @cached_property
    def weld_numbers(self) -> Ints:
        """When each member is welded, (M,) by row: 0 the first, the trunk."""
        return np.argsort(self.weld_sequence)
